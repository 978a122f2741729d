/* What lies on the map whatever is chosen: the country around the month's cells, places and
   towns with their labels. Colours are the style sheet's. */
(() => {
  "use strict";
  const REACH = 6; // px from a dot's middle that a label must leave free
  const SIDES = { right: [REACH, 0], left: [-REACH, 0], top: [0, -REACH], bottom: [0, REACH] };
  const SEA = 1; // line width of coasts and borders

  function corners(bounds) {
    return [bounds.getSouthWest(), bounds.getSouthEast(), bounds.getNorthEast(), bounds.getNorthWest()];
  }

  /* Rings of GeoJSON polygons, as Leaflet has points. */
  function rings(collection) {
    return collection.features.flatMap(({ geometry }) =>
      (geometry.type === "Polygon" ? [geometry.coordinates] : geometry.coordinates)
        .flatMap((polygon) => polygon.map((ring) => L.GeoJSON.coordsToLatLngs(ring))));
  }

  /* Land under the cells. Above them all that is not land, so that they end at the coast, and
     what nobody assessed around them. */
  function addCountry(map, base, cells) {
    const around = corners(L.latLngBounds(map.options.maxBounds)), inside = corners(cells);
    const above = { pane: "water", interactive: false };
    const land = base.countries ? rings(base.countries) : [];
    L.polygon(land, { pane: "land", interactive: false, className: "map-land" }).addTo(map);
    L.polygon([around, inside], { ...above, className: "map-beyond" }).addTo(map);
    // Even-odd: a ring of land leaves a hole in the sea, and what lies in two rings is land still.
    L.polygon([around, ...land], { ...above, className: "map-sea", weight: SEA, smoothFactor: 0 }).addTo(map);
    for (const [name, className] of [["lakes", "map-lake"], ["rivers", "map-river"]]) {
      if (base[name]) L.geoJSON(base[name], { ...above, className }).addTo(map);
    }
  }

  /* A dot and a label, whose words run from the shortest to the fullest. */
  function addDot(map, point, look, words) {
    const text = document.createElement("span");
    const dot = L.circleMarker(point, { ...look, interactive: false }).addTo(map).bindTooltip(text,
      { permanent: true, className: `${look.label}-name`, opacity: 1 });
    return { words, text, point, tooltip: dot.getTooltip() };
  }

  /* The places, which always have their number, and then the towns. */
  function addPlaces(map, places, towns) {
    return [
      ...places.map(({ point, name, when }, index) => {
        const number = `${index + 1}`, dated = when ? ` · ${when}` : "";
        return addDot(map, point, { radius: 5, className: "stop", label: "place" },
          [number, `${number}${dated}`, `${number} ${name}${dated}`]);
      }),
      ...towns.map(({ geometry, properties }) =>
        addDot(map, L.GeoJSON.coordsToLatLng(geometry.coordinates),
          { radius: 2, className: "town", label: "town", stroke: false }, ["", properties.name]))
    ];
  }

  function apart(a, b) {
    return a.right < b.left || b.right < a.left || a.bottom < b.top || b.bottom < a.top;
  }

  function box(label) { return label.text.parentNode.getBoundingClientRect(); }

  function write(label, [words, side]) {
    Object.assign(label, { written: [words, side] });
    Object.assign(label.tooltip.options, { direction: side, offset: SIDES[side] });
    label.text.textContent = words;
    label.tooltip.update();
    label.text.parentNode.hidden = !words;
  }

  /* Each label gets the fullest words, on the first side of its dot, that cover no other label
     or place and stay on the map; months before names. The list below the map has them all. */
  function nameLabels(map, labels) {
    const frame = map.getContainer().getBoundingClientRect();
    const zoom = map.zoomControl.getContainer().getBoundingClientRect();
    function dot(label) {
      const at = map.latLngToContainerPoint(label.point), x = frame.left + at.x, y = frame.top + at.y;
      return { left: x - REACH, right: x + REACH, top: y - REACH, bottom: y + REACH };
    }
    function fits(own, others) {
      return own.left > frame.left && own.right < frame.right && own.top > frame.top
        && own.bottom < frame.bottom && others.every((other) => apart(own, other));
    }
    for (const label of labels) write(label, [label.words[0], "right"]);
    for (const length of [1, 2]) {
      for (const label of labels.filter((one) => one.words[length])) {
        const others = labels.filter((one) => one !== label), before = label.written;
        const taken = [zoom, ...others.filter((one) => one.written[0]).map(box),
          ...others.filter((one) => one.words[0]).map(dot)];
        const free = Object.keys(SIDES).some((side) => {
          write(label, [label.words[length], side]);
          return fits(box(label), taken);
        });
        if (!free) write(label, before);
      }
    }
  }

  window.SM.maplayers = { addCountry, addPlaces, nameLabels };
})();
