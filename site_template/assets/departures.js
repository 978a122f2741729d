/* Departure slider: looks each departure's stays up and sums their nights.
   A set holds the dates of one start: the departures, or the days on which a leg is reached. */
(() => {
  "use strict";
  const { LEVELS, SERIOUS, byId, data, dateOf, dayOfYear, element, gradeMark, longDate, shortDate } = window.SM.words;
  const MICRO = 1e6; // steps in which the tables hold one rough night

  /* One date of a set as a record; kit is null where no plan fits. */
  function dateAt(set, number) {
    const stays = set.places[number].map((place, one) => ({
      place, leg: set.legs[number][one], arrive: set.arrive[number][one], leave: set.leave[number][one]
    }));
    return {
      day: set.day[number], kit: set.kit[number], direction: set.direction[number], stays,
      dangerous: set.dangerous[number], serious: set.serious[number]
    };
  }

  /* All legs of a date: those that are done stand as they were. */
  function legsOf(tables, date) {
    if (date.kit === null) return [];
    const done = tables.done.map((leg) => ({ ...leg, arrive: dateOf(leg.arrive, 0), leave: dateOf(leg.leave, 0) }));
    return [...done, ...date.stays.map((stay) => legOf(tables, tables.kits[date.kit], stay))];
  }

  /* What a stay's nights add up to: rough ones (null where any is unknown), the worst hazard
     level and the nights that each factor spoils, in the tables' steps. */
  function sumsOf(tables, nights, stay) {
    const spoilt = tables.factors.map(() => 0);
    let rough = 0, level = 0;
    for (let day = stay.arrive; day < stay.leave; day += 1) {
      const at = dayOfYear(dateOf(tables.first, day));
      rough = rough === null || nights.rough[at] === null ? null : rough + nights.rough[at];
      level = Math.max(level, Number(nights.level[at]));
      tables.factors.forEach((factor, number) => {
        const cause = nights.causes[factor.name];
        if (cause) spoilt[number] += cause[at];
      });
    }
    return { rough, level, spoilt };
  }

  /* A leg of the table: nights, rough nights, grade (-1 unknown), what decides it, and apart
     from it the worst hazard from serious on. */
  function legOf(tables, kit, stay) {
    const { rough, level, spoilt } = sumsOf(tables, kit.places[stay.place], stay);
    const count = stay.leave - stay.arrive, most = Math.max(...spoilt);
    let grade = -1;
    const reason = most > 0 ? tables.factors[spoilt.indexOf(most)].word : "nothing";
    if (rough !== null) {
      const share = 1 - rough / MICRO / count;
      grade = tables.floors.find((one) => share >= one.floor).grade;
    }
    const hazard = level < SERIOUS ? "" : LEVELS[level] + (LEVELS[level] === "closure" ? "" : " hazard");
    return {
      place: stay.place, leg: stay.leg, arrive: dateOf(tables.first, stay.arrive),
      leave: dateOf(tables.first, stay.leave), nights: count,
      rough: rough === null ? null : rough / MICRO, grade, reason, hazard
    };
  }

  /* The rough nights of all legs, null where those of any are unknown. */
  function roughOf(legs) {
    if (legs.some((leg) => leg.rough === null)) return null;
    return legs.reduce((sum, leg) => sum + leg.rough, 0);
  }

  /* What leaving on a date, or reaching a leg then, comes to. */
  function answer(tables, set, date, legs) {
    const when = longDate(dateOf(tables.first, date.day)), start = set.reached === null;
    if (date.kit === null) {
      return start ? `No plan fits a departure on ${when}.` :
        `No plan fits when ${tables.legs[set.reached]} is reached on ${when}.`;
    }
    const rough = roughOf(legs), nights = legs.reduce((sum, leg) => sum + leg.nights, 0);
    const what = start ? `Leave on ${when}` : `Reach ${tables.legs[set.reached]} on ${when}`;
    const about = rough === null ? "an unknown number" : rough.toFixed(1);
    const kit = tables.kits.length > 1 ? `, with ${tables.kits[date.kit].title}` : "";
    const danger = date.dangerous === null ? "an unknown number" : date.dangerous.toFixed(1);
    return `${what}, ${date.direction}: about ${about} of ${nights} nights will be rough, ` +
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
      element("th", tables.legs[leg.leg], line).setAttribute("scope", "row");
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
      const number = Number(slider.value), date = dateAt(set, number);
      const legs = legsOf(tables, date);
      const when = longDate(dateOf(tables.first, date.day)), rough = roughOf(legs);
      byId("departure-date").textContent = when;
      slider.setAttribute("aria-valuetext", when);
      told.dataset.rough = date.kit === null || rough === null ? "" : rough.toFixed(6);
      told.textContent = answer(tables, set, date, legs);
      const table = frame.cloneNode(true);
      fill(table.querySelector("tbody"), tables, legs);
      held.replaceChildren(table);
      window.SM.season.draw("calendar-season", legs);
      if (curve) {
        const line = set.reached === null ? cursorAt(curve.dataset, number) : "";
        curve.querySelector(".cursor").setAttribute("d", line);
      }
    }
    function move(number) {
      slider.value = Math.max(0, Math.min(Number(slider.max), number));
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
      slider.max = set.day.length - 1;
      move(planned());
    });
    show();
  }

  window.SM.departures = { dateAt, legOf, legsOf, roughOf, answer, cursorAt };

  const tables = data("departure-data"), slider = byId("departure-day");
  if (tables && slider) listen(tables, slider);
})();
