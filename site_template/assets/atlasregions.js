/* The table of regions: a kit's twelve months, another's below it, sorted by any column. */
(() => {
  "use strict";
  const { MONTHS, byId, data, element } = window.SM.words;
  const { factorWord, monthCell } = window.SM.atlasstrip;
  const { folded } = window.SM.atlassearch;
  const { inflated, summed } = window.SM.atlaspack;
  const MISSING = 255, CERTAIN = 200; // as in a tile

  /* Regions with their years by kit, from the packed columns. */
  async function unpacked({ regions, kits, factors, floor }) {
    const { names } = regions, columns = {};
    for (const name of ["median", "worst", "dangerous", "why"]) {
      columns[name] = summed(await inflated(regions[name]));
    }
    function year(name, kit, region) {
      return MONTHS.map((_, month) => columns[name][(kit * 12 + month) * names.length + region]);
    }
    function shares(name, kit, region) {
      return year(name, kit, region).map((code) => (code === MISSING ? null : code / CERTAIN));
    }
    function entry(kit, region) {
      const median = shares("median", kit, region);
      return {
        median, worst: shares("worst", kit, region), dangerous: shares("dangerous", kit, region),
        why: year("why", kit, region).map((code) => factors[code] ?? null),
        workable: median.includes(null) ? null : median.filter((share) => share >= floor).length
      };
    }
    return names.map((name, region) => ({
      name, kits: Object.fromEntries(kits.map(({ id }, kit) => [id, entry(kit, region)]))
    }));
  }

  /* Months that a factor spoils below "workable", told as "cold 5, heat 2". */
  function reasons(entry, floor) {
    const counts = new Map();
    entry.why.forEach((factor, month) => {
      if (factor && entry.median[month] !== null && entry.median[month] < floor) {
        counts.set(factor, (counts.get(factor) ?? 0) + 1);
      }
    });
    return [...counts].toSorted((a, b) => b[1] - a[1])
      .map(([factor, count]) => `${factorWord(factor)} ${count}`).join(", ");
  }

  /* The figure that a column sorts by, and a name last in every order but its own. */
  function sortKey(region, kit, measure, column) {
    if (column === "name") return region.name;
    const entry = region.kits[kit];
    return (column === "months" ? entry.workable : entry[measure][column]) ?? -1;
  }
  function sorted(regions, kit, measure, column, down) {
    const order = regions.toSorted((a, b) => {
      const first = sortKey(a, kit, measure, column), second = sortKey(b, kit, measure, column);
      if (column === "name") return first.localeCompare(second, "en");
      return first - second || b.name.localeCompare(a.name, "en");
    });
    return down ? order.toReversed() : order;
  }

  async function start() {
    const atlas = data("atlas-regions"), { kits, grades, floor } = atlas, regions = await unpacked(atlas);
    const table = byId("regions-table");
    const kit = byId("regions-kit"), beside = byId("regions-beside"), measure = byId("regions-measure");
    const filter = byId("regions-filter");
    let column = "name", down = false;

    function heads() {
      const row = element("tr", undefined, element("thead", undefined, table));
      const columns = [["name", "Region", "Region"], ...MONTHS.map((name, index) => [index, name[0], name]),
        ["months", "of 12", "Months workable"]];
      for (const [key, text, whole] of columns) {
        const head = element("th", undefined, row), button = element("button", text, head);
        head.scope = "col";
        head.className = typeof key === "number" ? "month-head" : `${key}-head`;
        if (key === column) head.setAttribute("aria-sort", down ? "descending" : "ascending");
        button.type = "button";
        button.title = `Sort by ${whole}`;
        button.dataset.column = key;
        if (text !== whole) button.setAttribute("aria-label", whole);
        button.addEventListener("click", () => {
          down = key === column ? !down : key !== "name";
          column = key;
          show();
          table.querySelector(`[data-column="${key}"]`).focus();
        });
      }
    }
    function line(name, region, id, body) {
      const row = element("tr", undefined, body), entry = region.kits[id];
      const head = element("th", name, row), why = reasons(entry, floor);
      head.scope = "row";
      if (why) element("span", why, head).className = "fine";
      MONTHS.forEach((_, month) => monthCell(grades, {
        sound: entry[measure.value][month], why: entry.why[month], danger: entry.dangerous[month]
      }, row));
      element("td", entry.workable === null ? "?" : String(entry.workable), row).className = "count";
    }
    function show() {
      const wanted = folded(filter.value);
      const shown = sorted(regions, kit.value, measure.value, column, down)
        .filter((region) => folded(region.name).includes(wanted));
      const second = beside.value && beside.value !== kit.value ? beside.value : "";
      table.textContent = "";
      element("caption", `Share of sound nights [%], ${measure.selectedOptions[0].text}`, table);
      heads();
      let body = element("tbody", undefined, table);
      for (const region of shown) {
        if (second) {
          body = element("tbody", undefined, table);
          const head = element("th", region.name, element("tr", undefined, body));
          head.scope = "rowgroup";
          head.colSpan = 14;
          line(kits.find((one) => one.id === kit.value).title, region, kit.value, body);
          line(kits.find((one) => one.id === second).title, region, second, body);
        } else {
          line(region.name, region, kit.value, body);
        }
      }
      byId("regions-told").textContent = shown.length === regions.length ? "" : `${shown.length} of ${regions.length} regions`;
    }
    for (const one of [kit, beside, measure]) one.addEventListener("change", show);
    filter.addEventListener("input", show);
    show();
  }

  window.SM.atlasregions = { unpacked, reasons, sorted };
  if (byId("atlas-regions")) start();
})();
