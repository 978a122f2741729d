/* One cell of the atlas in words and as a table of twelve months in every kit. */
(() => {
  "use strict";
  const { MONTHS, MONTH_DAYS, byId, element, percent } = window.SM.words;
  const { eastOf } = window.SM.atlascells;
  const { LEAST_DANGER, gradeOf, factorWord, monthCell, monthHeads, monthRuns } =
    window.SM.atlasstrip;
  const LEVELS = ["none", "advisory", "serious", "prohibitive", "closure"];
  const FEET = 3.28084; // in a metre

  /* As many decimals as the middle of a cell needs. */
  function degrees(value, signs) {
    const text = Math.abs(value).toFixed(3).replace(/\.?0+$/, "");
    return `${text}° ${signs[value < 0 ? 1 : 0]}`;
  }

  function placeWords(point) {
    return `${degrees(point.lat, "NS")} ${degrees(eastOf(point.lng, -180), "EW")}`;
  }

  function heights(metres, parent) {
    for (const [name, value, unit] of [["metric", metres, "m"], ["imperial", metres * FEET, "ft"]]) {
      const digits = String(Math.round(value)).replace(/\B(?=(\d{3})+$)/g, "\u202f");
      element("span", `${digits}\u00a0${unit}`, parent).className = name;
    }
  }

  function workable(atlas, record, kit, month) {
    const share = record.sound(kit, month);
    const floor = atlas.grades.find((grade) => grade.word === "workable").floor;
    return share !== null && share >= floor;
  }

  /* The cheapest kit that is workable in a month; null where none is. */
  function cheapest(atlas, record, month) {
    const fit = atlas.kits.filter((kit, index) => kit.price !== null && workable(atlas, record, index, month));
    return fit.reduce((best, kit) => (best === null || kit.price < best.price ? kit : best), null);
  }

  /* Nights of a month that the second kit saves; null where either is unknown. */
  function saved(record, first, second, month) {
    const a = record.sound(first, month), b = record.sound(second, month);
    return a === null || b === null ? null : (b - a) * MONTH_DAYS[month];
  }

  /* A share in percent; "under 1 %" is rough enough without another word. */
  function roughly(share) {
    const text = percent(share);
    return /^\d/.test(text) ? `about ${text}` : text;
  }

  /* What a night of one kit and month is like, in a sentence. */
  function nightWords(atlas, record, kit, month) {
    const share = record.sound(kit, month);
    if (share === null) return "not assessed here";
    const grade = atlas.grades[gradeOf(atlas.grades, share)].word, code = record.factor(kit, month);
    const why = share < 1 && code < atlas.factors.length ? `; ${factorWord(atlas.factors[code])} spoils most of the rest` : "";
    const danger = record.danger(kit, month);
    const risk = danger === null ? "; danger not assessed" :
      danger >= LEAST_DANGER ? `; ${roughly(danger)} of nights could be dangerous` : "";
    return `${grade}, ${roughly(share)} of nights sound${why}${risk}`;
  }

  /* What the shown map adds to it. */
  function layerWords(atlas, record, choice) {
    const { kit, month, dearer } = choice;
    if (choice.show === "saved" && dearer >= 0) {
      const nights = saved(record, kit, dearer, month);
      if (nights === null) return " Nights saved: unknown.";
      return ` The ${atlas.kits[dearer].in_sentence} saves ${nights.toFixed(1)} of ${MONTH_DAYS[month]} nights.`;
    }
    if (choice.show === "cheapest") {
      const best = cheapest(atlas, record, month);
      return best ? ` Cheapest workable kit: ${best.in_sentence}.` : " No kit with a known price is workable.";
    }
    if (choice.show === "months" || choice.show === "best") {
      return ` Workable: ${monthRuns(MONTHS.map((_, at) => workable(atlas, record, kit, at)))}.`;
    }
    return "";
  }

  function hazardWords(atlas, record, month) {
    return atlas.hazards.map((hazard, kind) => {
      const level = record.hazard(kind, month);
      return `${hazard.title}: ${level === null ? "not looked at" : LEVELS[level]}`;
    }).join("; ");
  }

  function title(point, record, named) {
    const head = byId("cell-title");
    head.textContent = named ? `${named}: ` : "";
    head.append(placeWords(point));
    if (record && record.height !== null) {
      head.append(", ");
      heights(record.height, head);
    }
  }

  function table(atlas, record, month) {
    const made = byId("cell-table");
    made.textContent = "";
    element("caption", "Share of sound nights [%] in every kit", made);
    const heads = element("tr", undefined, element("thead", undefined, made));
    const first = element("th", "Kit", heads);
    first.scope = "col";
    first.className = "name-head";
    monthHeads(heads, month);
    const body = element("tbody", undefined, made);
    atlas.kits.forEach((kit, index) => {
      const row = element("tr", undefined, body);
      element("th", kit.title, row).scope = "row";
      MONTHS.forEach((_, at) => {
        const code = record.factor(index, at);
        monthCell(atlas.grades, {
          sound: record.sound(index, at), danger: record.danger(index, at),
          why: code === null ? null : atlas.factors[code] ?? null
        }, row);
      });
    });
  }

  /* Show a cell below the map; `record` is null where there is no data. */
  function show(atlas, point, record, choice, named) {
    title(point, record, named);
    byId("cell-part").hidden = record === null;
    byId("cell-none").hidden = record !== null;
    if (record === null) {
      byId("cell-none").textContent = "No data here: sea, or land without a climate record.";
      return;
    }
    table(atlas, record, choice.month);
    const longitude = eastOf(point.lng, -180);
    const height = record.height === null ? "" : ` --elevation ${Math.round(record.height)}`;
    byId("cell-command").textContent =
      `sheltermap night ${Number(point.lat.toFixed(4))} ${Number(longitude.toFixed(4))}${height}`;
    byId("cell-hazards").textContent = atlas.hazards.length
      ? `Hazards in ${MONTHS[choice.month]}: ${hazardWords(atlas, record, choice.month)}.` : "";
  }

  /* The line above the map. */
  function told(atlas, point, record, choice) {
    const where = `${placeWords(point)}, ${MONTHS[choice.month]}`;
    if (record === null) return `${where}: no data.`;
    const night = nightWords(atlas, record, choice.kit, choice.month);
    return `${where}, ${atlas.kits[choice.kit].in_sentence}: ${night}.${layerWords(atlas, record, choice)}`;
  }

  window.SM.atlascell = { placeWords, cheapest, saved, show, told };
})();
