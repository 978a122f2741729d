/* Controls of every page: units, screen, season chart, departure slider, one-file pages.
   Texts from data are only ever written with textContent. */
(function () {
  "use strict";
  var root = document.documentElement;
  var GRADES = ["sound", "workable", "rough", "unfit", "closed"];
  var LEVELS = ["", "advisory", "serious", "prohibitive", "closure"], PROHIBITIVE = 3;
  var MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August",
    "September", "October", "November", "December"];
  var MONTH_DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
  var MONTH_STARTS = MONTH_DAYS.map(function (_, month) {
    return MONTH_DAYS.slice(0, month).reduce(function (sum, days) { return sum + days; }, 0);
  });
  var SPACE = "\u202f";

  function byId(id) { return document.getElementById(id); }
  function data(id) { var block = byId(id); return block ? JSON.parse(block.textContent) : null; }
  function element(name, text, parent) {
    var made = document.createElement(name);
    if (text !== undefined) made.textContent = text;
    if (parent) parent.appendChild(made);
    return made;
  }
  function percent(share) {
    if (share === null) return "not assessed";
    if (share > 0 && share < 0.01) return "under 1" + SPACE + "%";
    if (share > 0.99 && share < 1) return "over 99" + SPACE + "%";
    return Math.round(share * 100) + SPACE + "%";
  }
  function yearlyDate(day) {
    var month = 11;
    while (MONTH_STARTS[month] > day) month -= 1;
    return (day - MONTH_STARTS[month] + 1) + " " + MONTHS[month];
  }
  /* Days are UTC throughout, so that no clock change shifts a date. */
  function dateOf(first, day) { return new Date(Date.parse(first + "T00:00:00Z") + day * 864e5); }
  function dayOfYear(when) {
    var month = when.getUTCMonth(), day = when.getUTCDate();
    if (month === 1 && day === 29) day = 28;
    return MONTH_STARTS[month] + day - 1;
  }
  function words(when, short) {
    var month = MONTHS[when.getUTCMonth()];
    return when.getUTCDate() + " " + (short ? month.slice(0, 3) : month + " " + when.getUTCFullYear());
  }
  function gradeMark(grade, parent) {
    var span = element("span", undefined, parent), ns = "http://www.w3.org/2000/svg";
    span.className = "grade";
    var svg = document.createElementNS(ns, "svg"), rect = document.createElementNS(ns, "rect");
    svg.setAttribute("class", "chip"); svg.setAttribute("viewBox", "0 0 18 18");
    svg.setAttribute("aria-hidden", "true");
    rect.setAttribute("width", "18"); rect.setAttribute("height", "18");
    var pattern = grade < 0 ? "gx" : "g" + grade;
    rect.setAttribute("class", "k-" + pattern);
    rect.setAttribute("fill", "url(#" + pattern + ")");
    svg.appendChild(rect); span.appendChild(svg);
    span.appendChild(document.createTextNode(grade < 0 ? "unknown" : GRADES[grade]));
    return span;
  }
  window.SM.percent = percent;
  window.SM.gradeMark = gradeMark;
  window.SM.data = data;

  /* Units and screen, remembered per browser. */
  ["units", "scheme"].forEach(function (name) {
    var select = byId(name);
    select.value = root.getAttribute("data-" + name);
    select.addEventListener("change", function () {
      root.setAttribute("data-" + name, select.value);
      window.SM.show();
      try { window.localStorage.setItem("sheltermap-" + name, select.value); } catch (ignored) { /* not kept */ }
    });
  });

  /* Season chart: pointer, tap and arrow keys tell one week. */
  var seasonData = data("season-data");
  function weekSentence(row, week, year) {
    var text = seasonData.words, place = seasonData.rows[row][0];
    var cell = seasonData.rows[row][2][week];
    var parts = [place + ", " + yearlyDate(cell[0]) + " to " + yearlyDate(cell[0] + cell[1] - 1) +
      (year ? " " + year : "") + ": " + (cell[2] < 0 ? "unknown" : GRADES[cell[2]]) + "."];
    if (cell[3] === null) parts.push("The share of sound nights is not assessed.");
    else parts.push(percent(cell[3]) + " of nights sound" + (text[cell[4]] === "nothing" ? "." : ", limited by " + text[cell[4]] + "."));
    if (text[cell[5]]) parts.push("Hazard: " + text[cell[5]] + " (" + LEVELS[cell[6]] + ").");
    if (text[cell[8]] && cell[6] < PROHIBITIVE) parts.push("What would help: " + text[cell[8]] + ".");
    if (!cell[7]) parts.push("Not every hazard was checked here.");
    return parts.join(" ");
  }
  function seasonChart(figure) {
    var touch = figure.querySelector(".season-touch"), tell = figure.querySelector(".tell");
    var svgs = Array.prototype.slice.call(touch.querySelectorAll("svg.season"));
    var spot = { row: 0, week: 0, year: 0 };
    function geometry(svg) {
      return {
        left: +svg.dataset.left, plot: +svg.dataset.plot, days: +svg.dataset.days,
        cell: +svg.dataset.cell, first: +svg.dataset.year, rows: svg.dataset.rows.split(",").map(Number)
      };
    }
    function show() {
      var years = geometry(svgs[0]).days / 365, cell = seasonData.rows[spot.row][2][spot.week];
      tell.textContent = weekSentence(spot.row, spot.week, years > 1 ? geometry(svgs[0]).first + spot.year : 0);
      svgs.forEach(function (svg) {
        var g = geometry(svg), box = svg.querySelector(".pointed"), scale = g.plot / g.days;
        box.setAttribute("x", (g.left + (spot.year * 365 + cell[0]) * scale).toFixed(1));
        box.setAttribute("y", g.rows[spot.row] - 2);
        box.setAttribute("width", Math.max(4, cell[1] * scale).toFixed(1));
        box.setAttribute("height", g.cell + 4);
      });
    }
    function point(event) {
      var svg = svgs.filter(function (one) { return one.getBoundingClientRect().width > 0; })[0];
      if (!svg) return;
      var box = svg.getBoundingClientRect(), g = geometry(svg), scale = svg.viewBox.baseVal.width / box.width;
      var x = (event.clientX - box.left) * scale, y = (event.clientY - box.top) * scale;
      var day = Math.floor((x - g.left) / g.plot * g.days), row = -1;
      if (day < 0 || day >= g.days) return;
      g.rows.forEach(function (top, number) { if (y >= top - 18) row = number; });
      if (row < 0) return;
      var inYear = day % 365, weeks = seasonData.rows[row][2], week = 0;
      weeks.forEach(function (cell, number) { if (cell[0] <= inYear) week = number; });
      spot = { row: row, week: week, year: Math.floor(day / 365) };
      show();
    }
    touch.addEventListener("pointermove", function (event) { if (event.pointerType === "mouse") point(event); });
    touch.addEventListener("click", point);
    touch.addEventListener("focus", function () { if (touch.matches(":focus-visible")) show(); });
    touch.addEventListener("keydown", function (event) {
      var years = geometry(svgs[0]).days / 365, weeks = seasonData.rows[spot.row][2].length;
      if (event.key === "ArrowRight") spot.week += 1;
      else if (event.key === "ArrowLeft") spot.week -= 1;
      else if (event.key === "ArrowDown") spot.row = Math.min(seasonData.rows.length - 1, spot.row + 1);
      else if (event.key === "ArrowUp") spot.row = Math.max(0, spot.row - 1);
      else if (event.key === "Home") { spot.week = 0; spot.year = 0; }
      else if (event.key === "End") { spot.week = weeks - 1; spot.year = years - 1; }
      else return;
      event.preventDefault();
      if (spot.week >= weeks) { spot.year += 1; spot.week = 0; }
      if (spot.week < 0) { spot.year -= 1; spot.week = weeks - 1; }
      if (spot.year >= years) { spot.year = years - 1; spot.week = weeks - 1; }
      if (spot.year < 0) { spot.year = 0; spot.week = 0; }
      show();
    });
    return function redraw(stays) {
      svgs.forEach(function (svg) {
        var g = geometry(svg), scale = g.plot / g.days;
        var path = stays.map(function (stay) {
          var y = (g.rows[stay.row] + g.cell / 2).toFixed(1);
          return [stay.arrive, stay.leave].map(function (when) {
            var position = (when.getUTCFullYear() - g.first) * 365 + dayOfYear(when);
            return (g.left + position * scale).toFixed(1) + " " + y;
          }).join("L");
        }).join("L");
        svg.querySelectorAll(".stair, .stair-case").forEach(function (line) {
          line.setAttribute("d", path ? "M" + path : "");
        });
      });
    };
  }
  var redraws = {};
  if (seasonData) {
    document.querySelectorAll(".season-figure").forEach(function (figure) {
      redraws[figure.id] = seasonChart(figure);
    });
  }

  /* Departure slider: looks up each departure's stays and sums their nights. */
  function departures() {
    var tables = data("departure-data"), slider = byId("departure-day");
    if (!tables || !slider) return;
    var curve = document.querySelector("#page-calendar .chart svg"), held = byId("departure-legs");
    var frame = held.querySelector("table").cloneNode(true);
    frame.querySelector("tbody").textContent = "";
    function legRow(stay, kit) {
      var row = { row: stay[0], leg: stay[1], nights: stay[3] - stay[2], rough: 0, grade: -1, factor: "" };
      row.arrive = dateOf(tables.first, stay[2]);
      row.leave = dateOf(tables.first, stay[3]);
      var sums = tables.factors.map(function () { return 0; }), unknown = false, level = 0;
      for (var day = stay[2]; day < stay[3]; day += 1) {
        var at = dayOfYear(dateOf(tables.first, day)), rough = kit.rough[stay[0]][at];
        if (rough === null) unknown = true; else row.rough += rough;
        level = Math.max(level, +kit.level[stay[0]].charAt(at));
        for (var cause = 0; cause < sums.length; cause += 1) {
          if (kit.causes[stay[0]][cause]) sums[cause] += kit.causes[stay[0]][cause][at];
        }
      }
      var most = sums.indexOf(Math.max.apply(null, sums));
      row.factor = sums[most] > 0 ? tables.factors[most] : "nothing";
      if (!unknown) {
        var share = 1 - row.rough / 1e6 / row.nights;
        row.grade = tables.floors.length;
        tables.floors.slice().reverse().forEach(function (floor) { if (share >= floor[1] - 1e-9) row.grade = floor[0]; });
      }
      /* A hazard that forbids holds even where the share is missing. */
      if (tables.ceilings[level] > row.grade && (!unknown || tables.ceilings[level] >= 3)) {
        row.grade = tables.ceilings[level];
        row.factor = LEVELS[level] + (level < 4 ? " hazard" : "");
      }
      if (unknown) row.rough = null;
      return row;
    }
    var from = byId("departure-from"), set = tables.sets[0];
    function planned() { return set === tables.sets[0] ? tables.best : 0; }
    function show() {
      var stays = set[1][+slider.value], day = dateOf(tables.first, stays[0]);
      var answer = byId("departure-answer"), possible = stays[1] !== null, kit = tables.kits[possible ? stays[1] : 0];
      var rows = possible ? stays[3].map(function (stay) { return legRow(stay, kit); }) : [];
      byId("departure-date").textContent = words(day);
      slider.setAttribute("aria-valuetext", words(day));
      var unknown = rows.some(function (row) { return row.rough === null; });
      var rough = rows.reduce(function (sum, row) { return sum + row.rough; }, 0) / 1e6;
      var nights = rows.reduce(function (sum, row) { return sum + row.nights; }, 0);
      if (!possible) {
        answer.dataset.rough = "";
        answer.textContent = set[0] === null ? "No plan fits a departure on " + words(day) + "." :
          "No plan fits when " + tables.legs[set[0]] + " is reached on " + words(day) + ".";
      } else {
        answer.dataset.rough = unknown ? "" : rough.toFixed(6);
        answer.textContent = (set[0] === null ? "Leave on " : "Reach " + tables.legs[set[0]] + " on ") + words(day) + ", " + stays[2] + ": about " +
          (unknown ? "an unknown number" : rough.toFixed(1)) + " of " + nights + " nights will be rough; finish on " +
          words(rows[rows.length - 1].leave) + (tables.kits.length > 1 ? ", with " + kit.title : "") + ".";
      }
      var table = frame.cloneNode(true), body = table.querySelector("tbody");
      rows.forEach(function (row) {
        var line = element("tr", undefined, body);
        element("th", tables.legs[row.leg], line).setAttribute("scope", "row");
        element("td", words(row.arrive, true) + " to " + words(row.leave, true), line);
        element("td", (row.rough === null ? "unknown" : (row.rough / 1e6).toFixed(1)) + " of " + row.nights, line);
        var last = element("td", undefined, line);
        gradeMark(row.grade, last);
        element("span", " " + row.factor.replace("condensation", "conden\u00adsation"), last).className = "fine";
      });
      held.textContent = "";
      held.appendChild(table);
      redraws["calendar-season"](rows);
      if (curve && set[0] !== null) curve.querySelector(".cursor").setAttribute("d", "");
      else if (curve) {
        var x = (+curve.dataset.left + +slider.value * +curve.dataset.step).toFixed(1);
        curve.querySelector(".cursor").setAttribute("d", "M" + x + " " + curve.dataset.top + "V" + curve.dataset.bottom);
      }
    }
    function move(step) {
      slider.value = Math.max(0, Math.min(+slider.max, +slider.value + step));
      show();
    }
    slider.addEventListener("input", show);
    byId("departure-earlier").addEventListener("click", function () { move(-1); });
    byId("departure-later").addEventListener("click", function () { move(1); });
    byId("departure-best").addEventListener("click", function () { slider.value = planned(); show(); });
    if (from) from.addEventListener("change", function () {
      set = tables.sets[+from.value];
      byId("departure-word").textContent = set[0] === null ? "Leave on" : "Reached on";
      slider.max = set[1].length - 1;
      slider.value = planned();
      show();
    });
    show();
  }
  departures();

  /* Paper has no buttons: what a leg holds is printed open. */
  var folded = [];
  window.addEventListener("beforeprint", function () {
    folded = Array.prototype.slice.call(document.querySelectorAll("main .legs details:not([open])"));
    folded.forEach(function (one) { one.open = true; });
  });
  window.addEventListener("afterprint", function () {
    folded.forEach(function (one) { one.open = false; });
  });

  /* One-file copy: one page at a time, by the part of the address after #. */
  if (root.dataset.single) {
    var pages = Array.prototype.slice.call(document.querySelectorAll(".page"));
    var turn = function () {
      var wanted = byId(decodeURIComponent(window.location.hash.slice(1)));
      var shown = wanted && wanted.closest ? wanted.closest(".page") || pages[0] : pages[0];
      pages.forEach(function (page) { page.classList.toggle("shown", page === shown); });
      document.querySelectorAll("nav a[data-page]").forEach(function (link) {
        if ("page-" + link.dataset.page === shown.id) link.setAttribute("aria-current", "page");
        else link.removeAttribute("aria-current");
      });
      if (wanted === shown || !wanted) window.scrollTo(0, 0);
      window.dispatchEvent(new Event("sm-turn"));
    };
    window.addEventListener("hashchange", turn);
    turn();
  }
})();
