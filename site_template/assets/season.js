/* The season chart: pointer, tap and arrow keys tell one week; other departures are drawn.
   A spot is a row, a week and a year of the chart, each counted from 0; a layout says where
   things stand in one drawing, in its own units. */
(() => {
  "use strict";
  const { LEVELS, PROHIBITIVE, data, dayOfYear, gradeWord, percent, yearlyDate } = window.SM.words;
  const DAYS_IN_YEAR = 365;
  const LABEL = 18; // height above a row's cells that still belongs to it

  /* One week as a record; the columns hold its texts as positions in `words`. */
  function weekOf(chart, row, number) {
    const week = {};
    for (const [name, column] of Object.entries(chart.rows[row].weeks)) week[name] = column[number];
    for (const name of ["factor", "hazard", "remedy"]) week[name] = chart.words[week[name]];
    return week;
  }

  /* What a week is like, in words; the year only where the chart shows several. */
  function sentence(place, week, year) {
    const last = yearlyDate(week.first + week.days - 1) + (year ? ` ${year}` : "");
    const parts = [`${place}, ${yearlyDate(week.first)} to ${last}.`];
    if (week.share === null) parts.push(`Sleep: ${gradeWord(week.grade)}, the share of sound nights is not assessed.`);
    else {
      const limit = week.factor === "nothing" ? "" : `, limited by ${week.factor}`;
      parts.push(`Sleep: ${gradeWord(week.grade)}, ${percent(week.share)} of nights${limit}.`);
    }
    if (week.hazard) parts.push(`Hazard: ${week.hazard}, ${LEVELS[week.level]}.`);
    if (week.remedy && week.level < PROHIBITIVE) parts.push(`What would help: ${week.remedy}.`);
    if (!week.checked) parts.push("Not every hazard was checked here.");
    return parts.join(" ");
  }

  function layoutOf(svg) {
    const { left, plot, days, cell, year, rows } = svg.dataset;
    return {
      left: Number(left), plot: Number(plot), days: Number(days), cell: Number(cell),
      year: Number(year), rows: rows.split(",").map(Number)
    };
  }

  /* The spot under a point of the drawing, null beside the plot. */
  function spotAt(chart, layout, x, y) {
    const day = Math.floor((x - layout.left) / layout.plot * layout.days);
    const row = layout.rows.filter((top) => y >= top - LABEL).length - 1;
    if (day < 0 || day >= layout.days || row < 0) return null;
    const begun = chart.rows[row].weeks.first.filter((first) => first <= day % DAYS_IN_YEAR);
    return { row, week: begun.length - 1, year: Math.floor(day / DAYS_IN_YEAR) };
  }

  /* The spot that a key leads to, null for a key that leads nowhere. */
  function spotAfter(chart, years, spot, key) {
    const { row, week, year } = spot, last = chart.rows[row].weeks.first.length - 1;
    switch (key) {
      case "ArrowRight":
        if (week < last) return { row, week: week + 1, year };
        return year < years - 1 ? { row, week: 0, year: year + 1 } : spot;
      case "ArrowLeft":
        if (week > 0) return { row, week: week - 1, year };
        return year > 0 ? { row, week: last, year: year - 1 } : spot;
      case "ArrowDown": return { row: Math.min(chart.rows.length - 1, row + 1), week, year };
      case "ArrowUp": return { row: Math.max(0, row - 1), week, year };
      case "Home": return { row, week: 0, year: 0 };
      case "End": return { row, week: last, year: years - 1 };
      default: return null;
    }
  }

  /* The frame around a week, as attributes of a rectangle. */
  function frameOf(layout, spot, week) {
    const scale = layout.plot / layout.days;
    return {
      x: (layout.left + (spot.year * DAYS_IN_YEAR + week.first) * scale).toFixed(1),
      y: layout.rows[spot.row] - 2,
      width: Math.max(4, week.days * scale).toFixed(1),
      height: layout.cell + 4
    };
  }

  /* The journey as path data, by the same rule as the page was drawn. */
  function stairOf(layout, stays) {
    const scale = layout.plot / layout.days;
    const points = stays.flatMap((stay) => [stay.arrive, stay.leave].map((when) => {
      const day = (when.getUTCFullYear() - layout.year) * DAYS_IN_YEAR + dayOfYear(when);
      const y = layout.rows[stay.place] + layout.cell / 2;
      return `${(layout.left + day * scale).toFixed(1)} ${y.toFixed(1)}`;
    }));
    return points.length ? `M${points.join("L")}` : "";
  }

  function listen(figure, chart) {
    const touch = figure.querySelector(".season-touch"), told = figure.querySelector(".tell");
    const drawings = [...touch.querySelectorAll("svg.season")];
    const { days, year } = layoutOf(drawings[0]), years = days / DAYS_IN_YEAR;
    let spot = { row: 0, week: 0, year: 0 };
    function show(next) {
      if (!next) return;
      spot = next;
      const week = weekOf(chart, spot.row, spot.week);
      told.textContent = sentence(chart.rows[spot.row].name, week, years > 1 ? year + spot.year : 0);
      for (const svg of drawings) {
        const box = svg.querySelector(".pointed");
        for (const [name, value] of Object.entries(frameOf(layoutOf(svg), spot, week))) box.setAttribute(name, value);
      }
    }
    function point(event) {
      const svg = drawings.find((one) => one.getBoundingClientRect().width > 0);
      if (!svg) return;
      const box = svg.getBoundingClientRect(), scale = svg.viewBox.baseVal.width / box.width;
      const x = (event.clientX - box.left) * scale, y = (event.clientY - box.top) * scale;
      show(spotAt(chart, layoutOf(svg), x, y));
    }
    touch.addEventListener("pointermove", (event) => { if (event.pointerType === "mouse") point(event); });
    touch.addEventListener("click", point);
    touch.addEventListener("focus", () => { if (touch.matches(":focus-visible")) show(spot); });
    touch.addEventListener("keydown", (event) => {
      const next = spotAfter(chart, years, spot, event.key);
      if (next) event.preventDefault();
      show(next);
    });
  }

  /* Draw stays into a chart of the page, by its id. */
  function draw(id, stays) {
    for (const svg of document.getElementById(id).querySelectorAll("svg.season")) {
      const path = stairOf(layoutOf(svg), stays);
      for (const line of svg.querySelectorAll(".stair, .stair-case")) line.setAttribute("d", path);
    }
  }

  window.SM.season = { weekOf, sentence, spotAt, spotAfter, frameOf, stairOf, draw };

  const chart = data("season-data");
  if (chart) for (const figure of document.querySelectorAll(".season-figure")) listen(figure, chart);
})();
