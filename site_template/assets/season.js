/* The season chart: pointer, tap and arrow keys tell one week; other departures are drawn. */
(() => {
  "use strict";
  const { LEVELS, PROHIBITIVE, data, gradeWord, percent, yearlyDate } = window.SM.words;
  const {
    layoutOf, xOf, spotOn, spotAt, moved, spotAfter, frameOf, dayOn, journeyOf, crossed, shows
  } = window.SM.seasonplaces;
  const DAYS_IN_YEAR = 365;
  const SAID = { prohibitive: "don't sleep here", closure: "closed" };

  /* One week as a record; the columns hold its texts as positions in `words`. */
  function weekOf(chart, row, number) {
    const week = { first: chart.first[number], days: chart.days[number] };
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
    if (week.hazard) parts.push(`Hazard: ${week.hazard}, ${SAID[LEVELS[week.level]] || LEVELS[week.level]}.`);
    if (week.remedy && week.level < PROHIBITIVE) parts.push(`What would help: ${week.remedy}.`);
    if (!week.checked) parts.push("Not every hazard was checked here.");
    return parts.join(" ");
  }

  const begun = new Map(); // by the id of a figure, what tells its chart where the journey starts

  function listen(figure, chart) {
    const touch = figure.querySelector(".season-touch"), told = figure.querySelector(".tell");
    const drawings = [...touch.querySelectorAll("svg.season")], whole = figure.querySelector(".season-all");
    let spot = null;
    const visible = () => drawings.find((one) => one.getBoundingClientRect().width > 0) || drawings[0];
    function tell() {
      const layout = layoutOf(visible()), week = weekOf(chart, spot.row, spot.week);
      const several = layout.first < 0 || layout.first + layout.days > DAYS_IN_YEAR;
      told.textContent = sentence(chart.rows[spot.row].name, week, several ? layout.year + spot.year : 0);
      return week;
    }
    /* A part of the drawing is on the screen: a little of what is ahead of it, and what follows. */
    function reveal(x) {
      const svg = visible(), scale = svg.getBoundingClientRect().width / layoutOf(svg).width || 0;
      const room = touch.clientWidth, at = x * scale - touch.scrollLeft;
      if (at < 0 || at > room * 0.85) touch.scrollLeft = x * scale - room * 0.15;
    }
    function show(next) {
      if (!next) return;
      spot = next;
      const week = tell();
      for (const svg of drawings) {
        const box = svg.querySelector(".pointed");
        for (const [name, value] of Object.entries(frameOf(layoutOf(svg), spot, week))) box.setAttribute(name, value);
      }
      reveal(Number(frameOf(layoutOf(visible()), spot, week).x));
    }
    function start({ row, day }) {
      spot = spotOn(chart, row, day);
      tell();
      reveal(xOf(layoutOf(visible()), day));
    }
    function point(event) {
      const svg = visible(), box = svg.getBoundingClientRect();
      const scale = svg.viewBox.baseVal.width / box.width;
      const x = (event.clientX - box.left) * scale, y = (event.clientY - box.top) * scale;
      show(spotAt(chart, layoutOf(svg), x, y));
    }
    start(chart.start);
    begun.set(figure.id, start);
    touch.addEventListener("pointermove", (event) => { if (event.pointerType === "mouse") point(event); });
    touch.addEventListener("click", point);
    touch.addEventListener("focus", () => { if (touch.matches(":focus-visible")) show(moved(chart, layoutOf(visible()), spot, 0)); });
    touch.addEventListener("keydown", (event) => {
      const next = spotAfter(chart, layoutOf(visible()), spot, event.key);
      if (next) event.preventDefault();
      show(next);
    });
    if (whole) whole.addEventListener("change", () => show(moved(chart, layoutOf(visible()), spot, 0)));
  }

  /* Draw stays into a chart of the page, by its id; the whole year where they need it. */
  function draw(id, stays) {
    const figure = document.getElementById(id), whole = figure.querySelector(".season-all");
    for (const svg of figure.querySelectorAll("svg.season")) {
      const layout = layoutOf(svg), { line, dots } = journeyOf(layout, stays);
      for (const path of svg.querySelectorAll(".stair, .stair-case")) path.setAttribute("d", line);
      for (const path of svg.querySelectorAll(".leg-dot, .dot-case")) path.setAttribute("d", dots);
      for (const label of svg.querySelectorAll(".at-label")) {
        const { row, end } = label.dataset;
        const hidden = crossed(layout, stays, Number(row), Number(label.getAttribute("x")), Number(end));
        label.setAttribute("visibility", hidden ? "hidden" : "visible");
      }
      if (whole && svg.closest(".season-part") && !shows(layout, stays)) whole.checked = true;
    }
    const start = begun.get(id), layout = layoutOf(figure.querySelector("svg.season"));
    if (start && stays.length) start({ row: stays[0].place, day: dayOn(layout, stays[0].arrive) });
  }

  window.SM.season = { weekOf, sentence, draw };

  const chart = data("season-data");
  if (chart) for (const figure of document.querySelectorAll(".season-figure")) listen(figure, chart);
})();
