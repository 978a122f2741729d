/* What the departure slider's tables hold: each date's stays, and what their nights sum to.
   A set has the dates of one start: the departures, or the days on which a leg is reached. */
(() => {
  "use strict";
  const { LEVELS, SERIOUS, dateOf, dayOfYear } = window.SM.words;
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
     or late, the plan's stays before it stand, the last one cut short if need be. The day is
     that of reaching its camp; its stay begins earlier where evenings are on the way. */
  function dateAt(tables, set, number) {
    const way = set.way[number], day = set.day + number;
    const told = { day, dangerous: set.dangerous[number], serious: set.serious[number] };
    if (way === null) return { ...told, kit: null, stays: [], why: set.why ? tables.reasons[set.why[number]] : "" };
    const planned = tables.sets[0], rest = staysOf(tables, set, number);
    let before = [];
    if (set !== planned) {
      before = staysOf(tables, planned, planned.best);
      before = before.slice(0, before.findIndex((stay) => stay.leg === set.reached));
      before = before.map((stay) => ({ ...stay, leave: Math.min(stay.leave, rest[0].arrive) }));
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

  /* Which stays are shorter than the traveller prefers, in a sentence; "" where none is. */
  function cutIn(tables, stays) {
    const cut = stays.map((stay) => ({ ...tables.legs[stay.leg], nights: stay.leave - stay.arrive }))
      .filter((leg) => leg.nights < leg.preferred)
      .map((leg) => `${leg.name} (${leg.nights} of ${leg.preferred} nights)`);
    const last = cut.pop();
    if (last === undefined) return "";
    return `Shorter than you prefer: ${cut.length ? `${cut.join(", ")} and ${last}` : last}.`;
  }

  window.SM.departuretables = { unfolded, dateAt, legOf, legsOf, roughOf, cutIn };
})();
