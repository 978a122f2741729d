/* The map's controls: month, kit, what to show, hazards, and the value under the pointer. */
(() => {
  "use strict";
  const { byId, data, element, gradeMark } = window.SM.words;
  const { valueAt, placeWords, valueWords, regionLine } = window.SM.mapvalues;
  const { addCountry, addPlaces, nameLabels } = window.SM.maplayers;

  /* Start the page's map; `parts` are the layers that Python has made. */
  window.SM.map = (parts) => {
    const { map, overlay, regions } = parts, tables = data("map-data");
    const month = byId("map-month"), kit = byId("map-kit"), factor = byId("map-factor");
    const hazards = byId("map-hazards"), told = byId("map-value"), asked = new Set();
    const printed = [...document.querySelectorAll(".months img")];
    const single = document.documentElement.classList.contains("single");
    let spot = null, picked = "";

    const base = window.SM_BASE || {};
    addCountry(map, base, overlay.getBounds());
    const labels = addPlaces(map, tables.places, base.places?.features ?? []);

    function key() { return `${kit.value}/${factor.value}`; }
    function monthIndex() { return Number(month.value) - 1; }
    function stored() { return (window.SM_VALUES || {})[key()]; }

    /* Load the values behind the overlay, once they are asked for, then tell the one there. */
    function load() {
      const name = key();
      if (!spot || stored() || asked.has(name)) return;
      asked.add(name);
      const script = document.createElement("script");
      script.src = `overlays/${name}.js`;
      script.addEventListener("load", tell);
      script.addEventListener("error", () => {
        told.textContent = "The values for this map are missing from the copy.";
      });
      document.body.appendChild(script);
    }
    function tell() {
      const name = tables.months[monthIndex()];
      told.dataset.value = "";
      if (!spot) {
        told.textContent = "Point at the map or tap it to read the value there.";
        return;
      }
      const entry = stored(), value = entry && valueAt(entry, monthIndex() + 1, spot);
      const what = factor.value === "sound_share" ? "sound" : factor.selectedOptions[0].text;
      told.dataset.place = `${spot.lat.toFixed(5)} ${spot.lng.toFixed(5)}`;
      told.dataset.value = value ?? "";
      told.textContent = `${placeWords(spot)}, ${name}: ${valueWords(value, what)}.`;
    }
    function showOverlay() {
      const number = month.value.padStart(2, "0");
      const source = single ? printed[monthIndex()].src : `overlays/${key()}/${number}.png`;
      if (source !== picked) overlay.setUrl(source);
      picked = source;
      const picture = overlay.getElement();
      if (picture) picture.alt = `${factor.selectedOptions[0].text}, ${tables.months[monthIndex()]}`;
    }
    function showLegend() {
      const shown = new Set([factor.value === "sound_share" ? "sound_share" : "risk"]);
      if (hazards.checked) shown.add("hazard");
      for (const legend of document.querySelectorAll("[data-legend]")) {
        legend.hidden = !shown.has(legend.dataset.legend);
      }
    }
    function showRegions() {
      const at = monthIndex();
      regions.eachLayer((layer) => {
        const level = hazards.checked ? tables.places[layer.feature.properties.place].months.level[at] : 0;
        layer.setStyle(regionLine(level, tables.hazard_lines));
        layer.getElement().dataset.level = level;
      });
      for (const held of document.querySelectorAll("[data-region]")) {
        const { grade, note } = tables.places[Number(held.dataset.region)].months;
        held.textContent = "";
        gradeMark(grade[at], held);
        if (note[at]) element("span", ` ${note[at]}`, held).className = "fine";
      }
    }
    function show() {
      const name = tables.months[monthIndex()];
      byId("map-month-name").textContent = name;
      byId("map-list-month").textContent = name;
      month.setAttribute("aria-valuetext", name);
      showOverlay();
      showLegend();
      showRegions();
      byId("map-note").textContent = kit.value === tables.chosen ? "" :
        "Single causes are mapped for the chosen kit only; other kits show their sound nights.";
      load();
      tell();
    }
    function choose() {
      const offered = tables.kits[kit.value] || [];
      for (const option of factor.options) {
        option.disabled = !offered.includes(option.value);
      }
      if (factor.selectedOptions[0].disabled) factor.value = "sound_share";
      show();
    }
    function point(where) {
      spot = where;
      load();
      tell();
    }
    map.on("zoomend moveend", () => nameLabels(map, labels));
    map.on("mousemove click", (event) => point(event.latlng));
    map.on("moveend", () => {
      if (document.activeElement === map.getContainer()) point(map.getCenter());
    });
    month.addEventListener("input", show);
    factor.addEventListener("change", show);
    hazards.addEventListener("change", show);
    kit.addEventListener("change", choose);
    window.addEventListener("sm-turn", () => {
      map.invalidateSize();
      if (map.getSize().x) map.fitBounds(overlay.getBounds(), { animate: false });
    });
    choose();
    nameLabels(map, labels);
  };
})();
