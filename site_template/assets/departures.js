/* Departure slider: looks each departure's stays up and sums their nights.
   A set holds the dates of one start: the departures, or the days on which a leg is reached. */
(() => {
  "use strict";
  const { LEVELS, SERIOUS, byId, data, dateOf, dayOfYear, element, gradeMark, longDate, shortDate } = window.SM.words;
  const MICRO = 1e6; // steps in which the tables hold one rough night

  /* The values of a year, from its changes: null where a day is not known. */
  function unfolded(text) {
    const values = [];
    let last = 0;
    for (const part of text.split(" ")) {
      const [step, days] = part.split("x");
      for (let day = 0; day < Number(days || 1); day += 1) {
        if (step !== "?") last += Number(step);
        values.push(step === "?" ? null : last);
      }
    }
    return values;
  }

  /* A place's nights in one kit, unfolded when first asked for. */
  const opened = new WeakMap();
  function nightsOf(packed) {
    if (!opened.has(packed)) {
      const causes = {};
      for (const [name, text] of Object.entries(packed.causes)) causes[name] = text === null ? null : unfolded(text);
      opened.set(packed, { rough: unfolded(packed.rough), level: unfolded(packed.level), causes });
    }
    return opened.get(packed);
  }

  /* The stays of one date of a set, without those before a leg that is reached. */
  function staysOf(tables, set, number) {
    const numbers = [], stays = [];
    for (const row of set.stays.slice(0, number + 1)) {
      for (let at = 0; at < row.length; at += 2) numbers[row[at]] = row[at + 1];
    }
    let day = set.day + number;
    tables.ways[set.way[number]].legs.forEach((leg, at) => {
      const arrive = day + (numbers[2 * at] || 0);
      day = arrive + (numbers[2 * at + 1] || 0);
      stays.push({ place: tables.legs[leg].place, leg, arrive, leave: day });
    });
    return stays;
  }

  /* One date of a set as a record; kit is null where no plan fits. Where a leg is reached early
     or late, the plan's stays before it stand, the last one cut short if need be. */
  function dateAt(tables, set, number) {
    const way = set.way[number], day = set.day + number;
    const told = { day, dangerous: set.dangerous[number], serious: set.serious[number] };
    if (way === null) return { ...told, kit: null, stays: [] };
    const planned = tables.sets[0], rest = staysOf(tables, set, number);
    let before = [];
    if (set !== planned && set.reached !== null) {
      before = staysOf(tables, planned, planned.best);
      before = before.slice(0, before.findIndex((stay) => stay.leg === set.reached));
      before = before.map((stay) => ({ ...stay, leave: Math.min(stay.leave, day) }));
    }
    return { ...told, kit: tables.ways[way].kit, stays: [...before, ...rest] };
  }

  /* All legs of a date: those that are done stand as they were. */
  function legsOf(tables, date) {
    if (date.kit === null) return [];
    const done = tables.done.map((leg) => ({ ...leg, arrive: dateOf(leg.arrive, 0), leave: dateOf(leg.leave, 0) }));
    return [...done, ...date.stays.map((stay) => legOf(tables, tables.kits[date.kit], stay))];
  }

  /* What a stay's nights add up to: rough ones (null where any is unknown), the worst hazard
     level and the nights that each factor spoils, in the tables' steps. */
  function sumsOf(tables, packed, stay) {
    const nights = nightsOf(packed), spoilt = tables.factors.map(() => 0);
    let rough = 0, level = 0;
    for (let day = stay.arrive; day < stay.leave; day += 1) {
      const at = dayOfYear(dateOf(tables.first, day));
      rough = rough === null || nights.rough[at] === null ? null : rough + nights.rough[at];
      level = Math.max(level, nights.level[at]);
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
      slider.max = set.way.length - 1;
      move(planned());
    });
    show();
  }

  window.SM.departures = { unfolded, dateAt, legOf, legsOf, roughOf, answer, cursorAt };

  const tables = data("departure-data"), slider = byId("departure-day");
  if (tables && slider) listen(tables, slider);
})();
