/* Words, dates and marks that the other scripts share.
   Days of a year count from 0 in years of 365 days, in which 29 February stands on
   28 February. Texts from data are only ever written with textContent. */
(() => {
  "use strict";
  const GRADES = ["sound", "workable", "hard", "unfit"];
  const LEVELS = ["", "advisory", "serious", "prohibitive", "closure"];
  const MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August",
    "September", "October", "November", "December"];
  const MONTH_DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
  const MONTH_STARTS = MONTH_DAYS.map((_, month) =>
    MONTH_DAYS.slice(0, month).reduce((sum, days) => sum + days, 0));
  const MILLISECONDS = 864e5; // of a day
  const SPACE = "\u202f";
  const SVG = "http://www.w3.org/2000/svg";

  function byId(id) { return document.getElementById(id); }

  /* A JSON block of the page, null where the page has none. */
  function data(id) {
    const block = byId(id);
    return block ? JSON.parse(block.textContent) : null;
  }

  function element(name, text, parent) {
    const made = document.createElement(name);
    if (text !== undefined) made.textContent = text;
    if (parent) parent.appendChild(made);
    return made;
  }

  function percent(share) {
    if (share === null) return "not assessed";
    if (share > 0 && share < 0.01) return `under 1${SPACE}%`;
    if (share > 0.99 && share < 1) return `over 99${SPACE}%`;
    return `${Math.round(share * 100)}${SPACE}%`;
  }

  function gradeWord(grade) { return grade < 0 ? "unknown" : GRADES[grade]; }

  function yearlyDate(day) {
    const month = MONTH_STARTS.filter((start) => start <= day).length - 1;
    return `${day - MONTH_STARTS[month] + 1} ${MONTHS[month]}`;
  }

  /* The date a number of days after another; UTC, so that no clock change shifts it. */
  function dateOf(first, day) {
    return new Date(Date.parse(`${first}T00:00:00Z`) + day * MILLISECONDS);
  }

  function dayOfYear(when) {
    const month = when.getUTCMonth();
    return MONTH_STARTS[month] + Math.min(when.getUTCDate(), MONTH_DAYS[month]) - 1;
  }

  function longDate(when) {
    return `${when.getUTCDate()} ${MONTHS[when.getUTCMonth()]} ${when.getUTCFullYear()}`;
  }

  function shortDate(when) {
    return `${when.getUTCDate()} ${MONTHS[when.getUTCMonth()].slice(0, 3)}`;
  }

  function gradeMark(grade, parent) {
    const span = element("span", undefined, parent);
    span.className = "grade";
    const chip = document.createElementNS(SVG, "svg"), drawn = document.createElementNS(SVG, "use");
    chip.setAttribute("class", "chip");
    chip.setAttribute("aria-hidden", "true");
    drawn.setAttribute("href", `#c-${grade < 0 ? "gx" : `g${grade}`}`);
    chip.appendChild(drawn);
    span.appendChild(chip);
    span.appendChild(document.createTextNode(gradeWord(grade)));
    return span;
  }

  window.SM.words = {
    MONTHS, MONTH_DAYS,
    LEVELS, SERIOUS: LEVELS.indexOf("serious"), PROHIBITIVE: LEVELS.indexOf("prohibitive"),
    byId, data, element, percent, gradeWord, yearlyDate, dateOf, dayOfYear, longDate, shortDate,
    gradeMark
  };
})();
