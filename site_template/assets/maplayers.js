/* What lies on the map whatever is chosen: country below the overlay, places with labels. */
(() => {
  "use strict";
  const LAND = { color: "#98a298", weight: 0.8, fillColor: "#f9f6ec", fillOpacity: 1 };
  const WATER = { color: "#7fb0ba", weight: 0.8, fillColor: "#a5cad2", fillOpacity: 1 };
  const RIVER = { color: "#5f97a3", weight: 0.8 };
  const BORDER = { color: "#6d776d", weight: 0.8, fill: false };
  const DOT = { radius: 5, color: "#fffefa", weight: 2, fillColor: "#14060c", fillOpacity: 1, interactive: false };
  const REACH = 6; // px from a dot's middle that a label must leave free

  /* Land and lakes under the overlay, rivers and borders above it. */
  function addCountry(map, base) {
    const layers = [["countries", "base", LAND], ["lakes", "base", WATER],
      ["rivers", "water", RIVER], ["countries", "water", BORDER]];
    for (const [name, pane, style] of layers) {
      if (base[name]) L.geoJSON(base[name], { pane, interactive: false, style }).addTo(map);
    }
  }

  /* A dot and a number for each place that may be shown. */
  function addPlaces(map, places) {
    const labels = [];
    places.forEach((place, index) => {
      if (!place.point) return;
      const text = document.createElement("span"), number = String(index + 1);
      text.textContent = number;
      L.circleMarker(place.point, DOT).addTo(map).bindTooltip(text,
        { permanent: true, direction: "right", className: "place-name", offset: [6, 0], opacity: 1 });
      labels.push({ number, name: place.name, text, point: place.point });
    });
    return labels;
  }

  function apart(a, b) {
    return a.right < b.left || b.right < a.left || a.bottom < b.top || b.bottom < a.top;
  }

  function box(label) { return label.text.parentNode.getBoundingClientRect(); }

  /* A place has its name beside its number where that covers no other label or dot and
     stays on the map; the list below the map has them all. */
  function nameLabels(map, labels) {
    const frame = map.getContainer().getBoundingClientRect();
    function dot(label) {
      const at = map.latLngToContainerPoint(label.point), x = frame.left + at.x, y = frame.top + at.y;
      return { left: x - REACH, right: x + REACH, top: y - REACH, bottom: y + REACH };
    }
    for (const label of labels) label.text.textContent = label.number;
    for (const label of labels) {
      label.text.textContent = `${label.number} ${label.name}`;
      const own = box(label);
      const free = labels.every((other) => other === label || (apart(own, box(other)) && apart(own, dot(other))));
      if (!free || own.right >= frame.right) label.text.textContent = label.number;
    }
  }

  window.SM.maplayers = { addCountry, addPlaces, nameLabels };
})();
