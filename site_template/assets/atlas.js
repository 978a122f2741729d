/* The atlas's controls: month, kit, what to show, a place, and the marked cell. */
(() => {
  "use strict";
  const { MONTHS, byId, data } = window.SM.words;
  const { cellAt, moved, bounds, middle, reading } = window.SM.atlascells;
  const { addOutlines, showLegend, marker } = window.SM.atlasmap;
  const { shower } = window.SM.atlaslayer;
  const cellPart = window.SM.atlascell;
  const STEPS = { ArrowUp: [1, 0], ArrowDown: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] };
  const LEAP = 10; // cells, with Shift
  const NEAR = 5; // zoom at which a searched place is shown

  /* Start the page; `parts` are the layers that Python has made. */
  window.SM.atlas = ({ map, overlay }) => {
    const atlas = data("atlas"), told = byId("atlas-told"), mark = marker(map);
    const month = byId("atlas-month"), kit = byId("atlas-kit"), show = byId("atlas-show");
    const dearer = byId("atlas-dearer"), showLayer = shower(atlas, map, overlay);
    let cell = null, record = null, named = "", asked = 0;

    function place(id) { return atlas.kits.findIndex((one) => one.id === id); }
    function choice() {
      return { kit: place(kit.value), month: Number(month.value) - 1, show: show.value, dearer: place(dearer.value) };
    }

    /* The dearer kits that the chosen one is compared with. */
    function offerDearer() {
      const before = dearer.value;
      const offered = atlas.compare.filter(([cheaper]) => cheaper === kit.value).map((pair) => pair[1]);
      dearer.textContent = "";
      for (const id of offered) dearer.add(new Option(atlas.kits[place(id)].title, id));
      if (offered.includes(before)) dearer.value = before;
      byId("atlas-dearer-label").hidden = show.value !== "saved" || !offered.length;
    }
    function showPicture(chosen) {
      showLayer(chosen, `${show.selectedOptions[0].text}, ${atlas.kits[chosen.kit].title}, ${MONTHS[chosen.month]}`);
    }
    function remember(chosen) {
      const parts = new URLSearchParams({ kit: kit.value, month: month.value, show: chosen.show });
      if (cell) {
        const { lat, lng } = middle(atlas.grid, cell);
        parts.set("at", `${Number(lat.toFixed(4))},${Number(lng.toFixed(4))}`);
      }
      window.history.replaceState(null, "", `#${parts}`);
    }
    function tell() {
      if (!cell) return;
      const point = middle(atlas.grid, cell), chosen = choice();
      told.textContent = cellPart.told(atlas, point, record, chosen);
      cellPart.show(atlas, point, record, chosen, named);
    }
    function refresh() {
      offerDearer();
      const chosen = choice(), name = MONTHS[chosen.month];
      byId("atlas-month-name").textContent = name;
      month.setAttribute("aria-valuetext", name);
      byId("atlas-headline").textContent = atlas.headlines[kit.value][chosen.month];
      for (const note of document.querySelectorAll("[data-kit]")) note.hidden = note.dataset.kit !== kit.value;
      showPicture(chosen);
      showLegend(atlas, chosen.show);
      remember(chosen);
      tell();
    }

    /* Mark a cell and tell of it; only the newest of several waits counts. */
    async function go(wanted, name) {
      cell = wanted;
      named = name;
      asked += 1;
      const own = asked, corners = bounds(atlas.grid, cell);
      mark(corners);
      if (!map.getBounds().contains(corners)) map.panTo(L.latLngBounds(corners).getCenter(), { animate: false });
      try {
        const found = await reading(atlas, wanted);
        if (own !== asked) return;
        record = found;
        tell();
        remember(choice());
      } catch (error) {
        if (own === asked) told.textContent = error.message;
      }
    }
    function goTo(point, name) {
      const wanted = cellAt(atlas.grid, point);
      if (!wanted) {
        told.textContent = "That place lies outside this atlas.";
        return;
      }
      if (name) map.setView(middle(atlas.grid, wanted), Math.max(NEAR, map.getZoom()), { animate: false });
      go(wanted, name);
    }
    function move(event) {
      const step = STEPS[event.key];
      if (!step || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      const far = event.shiftKey ? LEAP : 1;
      const from = cell ?? cellAt(atlas.grid, map.getCenter()) ?? { row: 0, column: 0 };
      go(cell ? moved(atlas.grid, from, step[0] * far, step[1] * far) : from, "");
    }
    function zoom(event) {
      if (event.key === "+" || event.key === "=") map.zoomIn(1, { animate: false });
      else if (event.key === "-") map.zoomOut(1, { animate: false });
    }

    /* What a link to this page asks for. */
    function recall() {
      const parts = new URLSearchParams(window.location.hash.slice(1));
      for (const [select, name] of [[kit, "kit"], [show, "show"]]) {
        if ([...select.options].some((option) => option.value === parts.get(name))) select.value = parts.get(name);
      }
      if (/^([1-9]|1[0-2])$/.test(parts.get("month"))) month.value = parts.get("month");
      const at = /^(-?[\d.]+),(-?[\d.]+)$/.exec(parts.get("at"));
      if (at) goTo({ lat: Number(at[1]), lng: Number(at[2]) }, "");
    }

    addOutlines(map, atlas.outlines).catch((error) => { byId("atlas-note").textContent = error.message; });
    month.addEventListener("input", refresh);
    for (const select of [kit, show, dearer]) select.addEventListener("change", refresh);
    map.on("moveend", () => { if (show.value === "saved") showPicture(choice()); });
    map.on("click", (event) => {
      byId("atlas-frame").focus({ preventScroll: true });
      goTo(event.latlng, "");
    });
    byId("atlas-frame").addEventListener("keydown", (event) => { move(event); zoom(event); });
    window.SM.atlassearch.start(atlas.places, goTo);
    recall();
    refresh();
  };
})();
