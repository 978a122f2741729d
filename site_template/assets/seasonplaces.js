/* Where things stand in the season chart, and the way through it by key and pointer.
   A spot is a row, a week and a year of the chart, each counted from 0; a layout says where
   things stand in one drawing, in its own units. */
(() => {
  "use strict";
  const { dayOfYear } = window.SM.words;
  const DAYS_IN_YEAR = 365;
  const LABEL = 18; // height above a row's cells that still belongs to it
  const CASE = 4; // half the width of the stair with its edge

  /* The layout that a drawing carries. */
  function layoutOf(svg) {
    const { width, year, first, days, cell, stair, rows } = svg.dataset;
    return {
      width: Number(width), year: Number(year), first: Number(first), days: Number(days),
      cell: Number(cell), stair: stair === "1", rows: rows.split(",").map(Number)
    };
  }

  /* Where a day stands, counted from 1 January of the layout's year. */
  function xOf(layout, day) { return (day - layout.first) * layout.width / layout.days; }

  /* The week of a row that holds a day, counted from 1 January of the layout's year. */
  function spotOn(chart, row, day) {
    const year = Math.floor(day / DAYS_IN_YEAR);
    const begun = chart.first.filter((first) => first <= day - year * DAYS_IN_YEAR);
    return { row, week: begun.length - 1, year };
  }

  /* The spot under a point of the drawing, null beside the plot. */
  function spotAt(chart, layout, x, y) {
    const row = layout.rows.filter((top) => y >= top - LABEL).length - 1;
    if (x < 0 || x >= layout.width || row < 0) return null;
    return spotOn(chart, row, layout.first + Math.floor(x / layout.width * layout.days));
  }

  /* A spot moved by weeks along its row, and no further than the drawing shows. */
  function moved(chart, layout, spot, weeks) {
    const { row } = spot, count = chart.first.length;
    const number = ({ week, year }) => year * count + week;
    const lowest = number(spotOn(chart, row, layout.first));
    const highest = number(spotOn(chart, row, layout.first + layout.days - 1));
    const wanted = Math.min(highest, Math.max(lowest, number(spot) + weeks));
    return { row, week: wanted % count, year: Math.floor(wanted / count) };
  }

  /* The spot that a key leads to, null for a key that leads nowhere. */
  function spotAfter(chart, layout, spot, key) {
    const row = (by) => Math.min(chart.rows.length - 1, Math.max(0, spot.row + by));
    switch (key) {
      case "ArrowRight": return moved(chart, layout, spot, 1);
      case "ArrowLeft": return moved(chart, layout, spot, -1);
      case "ArrowDown": return moved(chart, layout, { ...spot, row: row(1) }, 0);
      case "ArrowUp": return moved(chart, layout, { ...spot, row: row(-1) }, 0);
      case "Home": return moved(chart, layout, spot, -Infinity);
      case "End": return moved(chart, layout, spot, Infinity);
      default: return null;
    }
  }

  /* The frame around a week, as attributes of a rectangle. */
  function frameOf(layout, spot, week) {
    const first = spot.year * DAYS_IN_YEAR + week.first, x = xOf(layout, first);
    return {
      x: x.toFixed(1), y: layout.rows[spot.row] - 2,
      width: Math.max(4, xOf(layout, first + week.days) - x).toFixed(1), height: layout.cell + 4
    };
  }

  /* A date as a day from 1 January of the layout's year, in years of 365 days. */
  function dayOn(layout, when) {
    return (when.getUTCFullYear() - layout.year) * DAYS_IN_YEAR + dayOfYear(when);
  }

  /* The journey as path data, by the same rule as the page was drawn: a stair through all stays,
     or a line for each with a dot at its arrival. */
  function journeyOf(layout, stays) {
    const places = stays.map((stay) => ({
      y: (layout.rows[stay.place] + layout.cell / 2).toFixed(1),
      begin: xOf(layout, dayOn(layout, stay.arrive)).toFixed(1),
      end: xOf(layout, dayOn(layout, stay.leave)).toFixed(1)
    }));
    if (layout.stair) {
      const points = places.flatMap(({ y, begin, end }) => [`${begin} ${y}`, `${end} ${y}`]);
      return { line: points.length ? `M${points.join("L")}` : "", dots: "" };
    }
    return {
      line: places.map(({ y, begin, end }) => `M${begin} ${y}H${end}`).join(""),
      dots: places.map(({ y, begin }) => `M${begin} ${y}h0`).join("")
    };
  }

  /* Whether the stair goes through the lane above a row between two places of it. */
  function crossed(layout, stays, row, begin, end) {
    return layout.stair && stays.slice(1).some((stay, number) => {
      const before = stays[number], rows = [before.place, stay.place];
      if (row <= Math.min(...rows) || row > Math.max(...rows)) return false;
      const ends = [before.leave, stay.arrive].map((when) => xOf(layout, dayOn(layout, when)));
      return begin < Math.max(...ends) + CASE && Math.min(...ends) - CASE < end;
    });
  }

  /* Whether a drawing shows all nights of stays. */
  function shows(layout, stays) {
    return stays.every((stay) => xOf(layout, dayOn(layout, stay.arrive)) >= 0 &&
      xOf(layout, dayOn(layout, stay.leave)) <= layout.width);
  }

  window.SM.seasonplaces = {
    layoutOf, xOf, spotOn, spotAt, moved, spotAfter, frameOf, dayOn, journeyOf, crossed, shows
  };
})();
