/* The atlas's map: picture, coast and borders, legend, and the marked cell. */
(() => {
  "use strict";
  const { byId, element, percent } = window.SM.words;
  const { inflatedText, loaded } = window.SM.atlaspack;
  const CASING = { className: "route-case", fill: false, interactive: false };
  const FRAME = { className: "route", fill: false, interactive: false };
  const CLOSE = 1.5; // zoom below which borders in full strength would hide small countries

  /* Lines as Leaflet takes them: whole hundredths of a degree, each the step from the last. */
  function unfolded(lines) {
    return lines.map((line) => {
      const points = [];
      let lng = 0, lat = 0;
      for (let at = 0; at < line.length; at += 2) {
        lng += line[at];
        lat += line[at + 1];
        points.push([lat / 100, lng / 100]);
      }
      return points;
    });
  }

  async function addOutlines(map, path) {
    const lines = unfolded(JSON.parse(await inflatedText(await loaded(path))));
    L.polyline(lines, { className: "map-coast", pane: "water", interactive: false, smoothFactor: 0.5 }).addTo(map);
    const thin = () => map.getContainer().classList.toggle("far", map.getZoom() < CLOSE);
    map.on("zoomend", thin);
    thin();
  }

  /* The picture of a choice, as a path in the atlas. */
  function pictureOf(atlas, { kit, month, show }) {
    const id = atlas.kits[kit].id, number = String(month + 1).padStart(2, "0");
    if (show === "months" || show === "best") return `maps/${id}/${show}.png`;
    if (show === "cheapest") return `maps/cheapest-${number}.png`;
    if (show.startsWith("hazard-")) return `maps/hazard/${show.slice(7)}-${number}.png`;
    return `maps/${id}/${show}-${number}.png`;
  }

  /* One row for each grade, its shades side by side; of every other legend each class. */
  function legendRows(classes, graded) {
    if (!graded) return classes.map(({ words, colour }) => ({ words, colours: [colour] }));
    const rows = [];
    for (const { words, colour, floor } of classes) {
      const [grade] = words.split(",");
      if (rows.at(-1)?.words !== grade) rows.push({ words: grade, floor, colours: [] });
      rows.at(-1).colours.push(colour);
    }
    rows.forEach((row, at) => {
      row.fine = `${percent(row.floor)} to ${percent(rows[at + 1]?.floor ?? 1)}`;
    });
    return rows.toReversed();
  }

  function showLegend(atlas, show) {
    const list = byId("atlas-legend");
    const rows = atlas.legends[show.startsWith("hazard-") ? "hazard" : show] ?? [];
    list.textContent = "";
    for (const { words, fine, colours } of legendRows(rows, show === "share")) {
      const item = element("li", undefined, list), chip = element("span", undefined, item);
      chip.className = "shades fixed";
      for (const colour of colours) element("i", undefined, chip).style.background = colour;
      const text = element("span", words, item);
      if (fine) element("span", ` ${fine}`, text).className = "fine";
    }
    const item = element("li", undefined, list);
    element("span", undefined, item).className = "shades fixed";
    element("span", "no colour: sea, or no data", item);
  }

  /* Draw the frame of the marked cell anew; a light line below it shows it on dark cells. */
  function marker(map) {
    const frames = [];
    return (corners) => {
      if (!frames.length) {
        for (const style of [CASING, FRAME]) frames.push(L.rectangle(corners, style).addTo(map));
      }
      for (const frame of frames) frame.setBounds(corners);
    };
  }

  window.SM.atlasmap = { unfolded, addOutlines, pictureOf, legendRows, showLegend, marker };
})();
