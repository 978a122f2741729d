/* Departure slider: tells what another date comes to, and draws it. */
(() => {
  "use strict";
  const { byId, data, dateOf, element, gradeMark, longDate, shortDate } = window.SM.words;
  const { dateAt, legsOf, roughOf, cutIn } = window.SM.departuretables;

  /* What leaving on a date, or reaching a leg then, comes to. */
  function answer(tables, set, date, legs) {
    const when = longDate(dateOf(tables.first, date.day)), start = set.reached === null;
    if (date.kit === null) {
      return start ? `No plan fits a departure on ${when}. ${date.why}`.trim() :
        `No plan fits when ${tables.legs[set.reached].name} is reached on ${when}.`;
    }
    const rough = roughOf(legs), nights = legs.reduce((sum, leg) => sum + leg.nights, 0);
    const what = start ? `Leave on ${when}` : `Reach ${tables.legs[set.reached].name} on ${when}`;
    const about = rough === null ? "an unknown number" : rough.toFixed(1);
    const kit = tables.kits.length > 1 ? `, with ${tables.kits[date.kit].title}` : "";
    const danger = date.dangerous === null ? "an unknown number" : date.dangerous.toFixed(1);
    const [first, last] = [legs[0], legs[legs.length - 1]].map((leg) => tables.legs[leg.leg].name);
    const ends = legs.length > 1 ? `, from ${first} to ${last}` : "";
    return `${what}${ends}: about ${about} of ${nights} nights will be rough, ` +
      `${danger} dangerous, ${date.serious} under a serious hazard; ` +
      `finish on ${longDate(legs[legs.length - 1].leave)}${kit}.`;
  }

  /* The line on the curve of rough nights, as path data. */
  function cursorAt(curve, number) {
    const x = (Number(curve.left) + number * Number(curve.step)).toFixed(1);
    return `M${x} ${curve.top}V${curve.bottom}`;
  }

  function fill(body, tables, legs) {
    for (const leg of legs) {
      const line = element("tr", undefined, body);
      element("th", tables.legs[leg.leg].name, line).setAttribute("scope", "row");
      element("td", `${shortDate(leg.arrive)} to ${shortDate(leg.leave)}`, line);
      element("td", `${leg.rough === null ? "unknown" : leg.rough.toFixed(1)} of ${leg.nights}`, line);
      const last = element("td", undefined, line);
      gradeMark(leg.grade, last);
      element("span", ` ${leg.reason.replace("condensation", "conden\u00adsation")}`, last).className = "fine";
      if (leg.hazard) element("span", ` ${leg.hazard}`, last).className = "fine grave";
    }
  }

  function listen(tables, slider) {
    const curve = document.querySelector("#page-calendar .chart svg"), held = byId("departure-legs");
    const told = byId("departure-answer"), from = byId("departure-from");
    const frame = held.querySelector("table").cloneNode(true);
    frame.querySelector("tbody").textContent = "";
    let set = tables.sets[0];
    function show() {
      const number = Number(slider.value), date = dateAt(tables, set, number);
      const legs = legsOf(tables, date);
      const when = longDate(dateOf(tables.first, date.day)), rough = roughOf(legs);
      byId("departure-date").textContent = when;
      slider.setAttribute("aria-valuetext", when);
      told.dataset.rough = date.kit === null || rough === null ? "" : String(rough);
      told.textContent = answer(tables, set, date, legs);
      const table = frame.cloneNode(true);
      fill(table.querySelector("tbody"), tables, legs);
      held.replaceChildren(table);
      window.SM.season.draw("calendar-season", legs);
      byId("calendar-season-cut").textContent = cutIn(tables, date.stays);
      if (curve) {
        const line = set.reached === null ? cursorAt(curve.dataset, number) : "";
        curve.querySelector(".cursor").setAttribute("d", line);
      }
    }
    function move(number) {
      slider.value = number; // held by the slider itself at its ends
      show();
    }
    function planned() { return set.best; }
    slider.addEventListener("input", show);
    byId("departure-earlier").addEventListener("click", () => move(Number(slider.value) - 1));
    byId("departure-later").addEventListener("click", () => move(Number(slider.value) + 1));
    byId("departure-best").addEventListener("click", () => move(planned()));
    if (from) from.addEventListener("change", () => {
      set = tables.sets[Number(from.value)];
      byId("departure-word").textContent = set.reached === null ? "Leave on" : "Reached on";
      slider.max = set.way.length - 1;
      move(planned());
    });
    show();
  }

  window.SM.departures = { answer, cursorAt };

  const tables = data("departure-data"), slider = byId("departure-day");
  if (tables && slider) listen(tables, slider);
})();
