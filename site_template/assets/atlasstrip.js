/* Twelve months as a strip: a bar in its grade's colour, the share below it, and why. */
(() => {
  "use strict";
  const { MONTHS, element, percent } = window.SM.words;
  const LEAST_DANGER = 0.02; // from here danger is told, as everywhere in the program
  const LETTERS = { cold: "c", heat: "h", wet: "r", wind: "w", condensation: "d" };
  const WORDS = { wet: "rain" };

  /* The position of a share's grade; -1 where it is unknown. */
  function gradeOf(grades, share) {
    return share === null ? -1 : grades.findIndex((grade) => share >= grade.floor);
  }

  function factorWord(name) { return WORDS[name] ?? name; }

  function whole(share) { return share === null ? "?" : String(Math.round(share * 100)); }

  function short(text, title, parent) {
    const made = element("abbr", text, parent);
    made.title = title;
    return made;
  }

  /* One month as a table cell. `month` has sound and danger [0 to 1 or null] and why, a factor's
     name or null. */
  function monthCell(grades, month, parent) {
    const cell = element("td", undefined, parent), grade = gradeOf(grades, month.sound);
    cell.className = `month-cell ${grade < 0 ? "gx" : `g${grade}`}`;
    element("i", undefined, cell);
    if (grade < 0) short("?", "unknown", cell);
    else element("span", whole(month.sound), cell);
    const small = element("small", undefined, cell);
    if (month.why && grade > 0) short(LETTERS[month.why] ?? "", factorWord(month.why), small);
    if (month.danger >= LEAST_DANGER) short("!", `${percent(month.danger)} of nights could be dangerous`, small);
    return cell;
  }

  function monthHeads(parent, now) {
    MONTHS.forEach((name, index) => {
      const head = element("th", undefined, parent);
      head.scope = "col";
      head.className = "month-head";
      if (index === now) head.setAttribute("aria-current", "true");
      short(name[0], name, head);
    });
  }

  /* Months in words, runs drawn together and over the new year: "April to June, November". */
  function monthRuns(flags) {
    if (flags.every(Boolean)) return "all year";
    const starts = flags.map((flag, month) => flag && !flags[(month + 11) % 12] ? month : -1)
      .filter((month) => month >= 0);
    const runs = starts.map((start) => {
      let length = 1;
      while (flags[(start + length) % 12]) length += 1;
      const last = MONTHS[(start + length - 1) % 12];
      return length === 1 ? MONTHS[start] : `${MONTHS[start]} to ${last}`;
    });
    return runs.length ? runs.join(", ") : "none";
  }

  window.SM.atlasstrip = { LEAST_DANGER, gradeOf, factorWord, monthCell, monthHeads, monthRuns };
})();
