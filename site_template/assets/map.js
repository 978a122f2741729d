/* The map's controls: month, kit, what to show, and the value under the pointer. */
(function () {
  "use strict";
  var LAND = { color: "#98a298", weight: 0.8, fillColor: "#f9f6ec", fillOpacity: 1 };
  var WATER = { color: "#7fb0ba", weight: 0.8, fillColor: "#a5cad2", fillOpacity: 1 };

  window.SM.map = function (parts) {
    var map = parts.map, overlay = parts.overlay, tables = window.SM.data("map-data");
    var byId = function (id) { return document.getElementById(id); };
    var month = byId("map-month"), kit = byId("map-kit"), factor = byId("map-factor");
    var told = byId("map-value"), asked = {}, spot = null, base = window.SM_BASE || {};
    var printed = Array.prototype.slice.call(document.querySelectorAll(".months img"));
    var single = document.documentElement.classList.contains("single");

    ["countries", "lakes"].forEach(function (layer) {
      if (base[layer]) L.geoJSON(base[layer], { pane: "base", interactive: false, style: layer === "lakes" ? WATER : LAND }).addTo(map);
    });
    if (base.rivers) L.geoJSON(base.rivers, { pane: "water", interactive: false, style: { color: "#5f97a3", weight: 0.8 } }).addTo(map);
    if (base.countries) L.geoJSON(base.countries, { pane: "water", interactive: false, style: { color: "#6d776d", weight: 0.8, fill: false } }).addTo(map);
    parts.regions.eachLayer(function (layer) { layer.options.interactive = false; });
    var labels = [];
    tables.places.forEach(function (place, number) {
      if (!place.point) return;
      var dot = L.circleMarker(place.point, { radius: 5, color: "#fffefa", weight: 2, fillColor: "#14060c", fillOpacity: 1, interactive: false }).addTo(map);
      var label = document.createElement("span");
      label.textContent = number + 1;
      dot.bindTooltip(label, { permanent: true, direction: "right", className: "place-name", offset: [6, 0], opacity: 1 });
      labels.push({ number: number, name: place.name, text: label, point: place.point });
    });
    /* A place has its name beside its number where that covers no other label or dot and
       stays on the map; the list below the map has them all. */
    function named() {
      function dot(label, frame) {
        var at = map.latLngToContainerPoint(label.point), x = frame.left + at.x, y = frame.top + at.y;
        return { left: x - 6, right: x + 6, top: y - 6, bottom: y + 6 };
      }
      function box(label) { return label.text.parentNode.getBoundingClientRect(); }
      function apart(a, b) { return a.right < b.left || b.right < a.left || a.bottom < b.top || b.bottom < a.top; }
      var frame = map.getContainer().getBoundingClientRect();
      labels.forEach(function (label) { label.text.textContent = label.number + 1; });
      labels.forEach(function (label) {
        label.text.textContent = (label.number + 1) + " " + label.name;
        var own = box(label);
        var free = own.right < frame.right && labels.every(function (other) { return other === label || (apart(own, box(other)) && apart(own, dot(other, frame))); });
        if (!free) label.text.textContent = label.number + 1;
      });
    }
    if (parts.route) parts.route.setStyle({ color: "#14060c", weight: 3, opacity: 0.9 });

    function key() { return kit.value + "/" + factor.value; }
    function values(then) {
      var store = window.SM_VALUES = window.SM_VALUES || {}, name = key();
      if (store[name] || factor.value === "hazard") { then(); return; }
      if (asked[name]) return;
      asked[name] = true;
      var script = document.createElement("script");
      script.src = "overlays/" + name + ".js";
      script.onload = then;
      script.onerror = function () { told.textContent = "The values for this map are missing from the copy."; };
      document.body.appendChild(script);
    }
    function decoded(entry) {
      if (!entry.bytes) entry.bytes = window.atob(entry.data);
      return entry.bytes;
    }
    /* Half percents as stored; null where there is no climate or no assessment. */
    function valueAt(point) {
      var entry = (window.SM_VALUES || {})[key()];
      if (!entry) return undefined;
      var box = entry.box, row = Math.floor((point.lat - box[0]) / (box[2] - box[0]) * entry.rows);
      var column = Math.floor((point.lng - box[1]) / (box[3] - box[1]) * entry.columns);
      if (row < 0 || column < 0 || row >= entry.rows || column >= entry.columns) return null;
      var code = decoded(entry).charCodeAt(((+month.value - 1) * entry.rows + row) * entry.columns + column);
      return code === 255 ? null : code / 200;
    }
    function place(point) {
      return Math.abs(point.lat).toFixed(1) + "° " + (point.lat < 0 ? "S" : "N") + " " +
        Math.abs(point.lng).toFixed(1) + "° " + (point.lng < 0 ? "W" : "E");
    }
    function tell() {
      var name = tables.months[+month.value - 1];
      if (factor.value === "hazard") {
        told.textContent = "Hazards in " + name + " by region: the list below the map says which, and at what level.";
        told.dataset.value = "";
        return;
      }
      if (!spot) { told.textContent = "Point at the map or tap it to read the value there."; told.dataset.value = ""; return; }
      var value = valueAt(spot), what = factor.value === "sound_share" ? " of nights sound" : " of nights " + factor.options[factor.selectedIndex].text;
      told.dataset.place = spot.lat.toFixed(5) + " " + spot.lng.toFixed(5);
      told.dataset.value = value === null || value === undefined ? "" : String(value);
      told.textContent = place(spot) + ", " + name + ": " +
        (value === undefined ? "loading" : value === null ? "no climate data, or not assessed" : "about " + window.SM.percent(value) + what) + ".";
    }
    function regionStyle(feature) {
      var row = tables.places[feature.properties.place].months[+month.value - 1];
      if (factor.value !== "hazard") return { color: "#0a2a27", weight: 2, dashArray: "", fill: false, opacity: 0.9 };
      return {
        color: row[1] ? "#1a1016" : "#5d6a64", weight: row[1] ? 1 + row[1] : 1,
        dashArray: row[1] ? tables.hazard_lines[row[1] - 1] : "1 6", fill: row[1] > 2,
        fillColor: "#1a1016", fillOpacity: row[1] > 3 ? 0.6 : 0.35, opacity: 1
      };
    }
    function show() {
      var name = tables.months[+month.value - 1], number = String(month.value).padStart(2, "0");
      byId("map-month-name").textContent = name;
      byId("map-list-month").textContent = name;
      month.setAttribute("aria-valuetext", name);
      var hazard = factor.value === "hazard";
      overlay.setOpacity(hazard ? 0 : 0.85);
      if (!hazard) {
        var source = single ? printed[+month.value - 1].src : "overlays/" + key() + "/" + number + ".png";
        if (overlay._url !== source) overlay.setUrl(source);
        var picture = overlay.getElement();
        if (picture) picture.alt = factor.options[factor.selectedIndex].text + ", " + name;
      }
      parts.regions.setStyle(regionStyle);
      document.querySelectorAll("[data-legend]").forEach(function (legend) {
        var wanted = hazard ? "hazard" : factor.value === "sound_share" ? "sound_share" : "risk";
        legend.hidden = legend.dataset.legend !== wanted;
      });
      document.querySelectorAll("[data-region]").forEach(function (held) {
        var row = tables.places[+held.dataset.region].months[+month.value - 1];
        held.textContent = "";
        window.SM.gradeMark(row[0], held);
        if (row[2]) {
          var note = document.createElement("span");
          note.className = "fine";
          note.textContent = " " + row[2];
          held.appendChild(note);
        }
      });
      byId("map-note").textContent = kit.value === tables.chosen ? "" : "Single causes are mapped for the chosen kit only; other kits show their sound nights.";
      values(tell);
      tell();
    }
    function choose() {
      var offered = tables.kits[kit.value] || [];
      Array.prototype.forEach.call(factor.options, function (option) {
        option.disabled = option.value !== "hazard" && offered.indexOf(option.value) < 0;
      });
      if (factor.selectedOptions[0].disabled) factor.value = "sound_share";
      show();
    }
    function spotFrom(event) { spot = event.latlng; tell(); }
    map.on("zoomend moveend", named);
    map.on("mousemove", spotFrom);
    map.on("click", spotFrom);
    map.on("moveend", function () { if (document.activeElement === map.getContainer()) { spot = map.getCenter(); tell(); } });
    month.addEventListener("input", show);
    factor.addEventListener("change", show);
    kit.addEventListener("change", choose);
    window.addEventListener("sm-turn", function () {
      map.invalidateSize();
      if (map.getSize().x) map.fitBounds(overlay.getBounds(), { animate: false });
    });
    choose();
    named();
  };
})();
