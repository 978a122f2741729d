/* The log: makes rows for the trip file out of what is filled in. Nothing leaves the page; what
   was added stays in its text until the page is closed. */
(() => {
  "use strict";
  const { byId, data, element } = window.SM.words;

  function two(number) { return String(number).padStart(2, "0"); }

  /* Today on the clock of the device, as the trip file writes a date. */
  function isoDay(when) {
    return `${when.getFullYear()}-${two(when.getMonth() + 1)}-${two(when.getDate())}`;
  }

  /* The leg of a day: the last one begun, else the first. */
  function legOn(legs, day) {
    return Math.max(0, legs.filter((leg) => leg.arrive <= day).length - 1);
  }

  /* Text as TOML holds it; names have no control characters. */
  function quoted(text) { return JSON.stringify(text); }

  /* Numbers with spaces or semicolons between; null where something else stands there. */
  function numbersOf(written) {
    const parts = written.replace(/\u2212/g, "-").split(/[\s;]+/).filter((part) => part);
    return parts.every((part) => /^-?\d+(\.\d+)?$/.test(part)) ? parts : null;
  }

  function list(parts) { return parts.length === 1 ? parts[0] : `[${parts.join(", ")}]`; }

  /* A place as two numbers, or by its name. */
  function placeOf(written) {
    const parts = numbersOf(written.replace(/,/g, " "));
    return parts && parts.length === 2 ? `[${parts.join(", ")}]` : quoted(written.trim());
  }

  function row(table, pairs) {
    const lines = pairs.filter(([, value]) => value !== "").map(([key, value]) => `${key} = ${value}`);
    return [`[[${table}]]`, ...lines, ""].join("\n");
  }

  function doneRow(given) {
    return row("done", [
      ["leg", quoted(given.leg)], ["arrived", given.arrived], ["left", given.left],
      ["kit", quoted(given.kit)]
    ]);
  }

  /* Temperatures as the trip file has them, whatever the reader's thermometer shows. */
  function celsius(given, name) {
    const parts = numbersOf(given[name]);
    return given.units === "imperial" ? parts.map((part) => ((Number(part) - 32) * 5 / 9).toFixed(1)) : parts;
  }

  const COUNTS = ["cold", "cool", "warm", "hot", "rain", "wet", "damp"];

  function sleptRow(given) {
    const where = given.place.trim() ? ["place", placeOf(given.place)] : ["leg", quoted(given.leg)];
    const measured = given.low_c.trim() || given.bedtime_c.trim();
    return row("slept", [
      ["who", given.who ? quoted(given.who) : ""], where, ["first", given.first],
      ["nights", given.nights], ["kit", quoted(given.kit)],
      ...COUNTS.map((name) => [name, Number(given[name]) ? String(Number(given[name])) : ""]),
      ...["low_c", "bedtime_c"].map((name) => [name, given[name].trim() ? list(celsius(given, name)) : ""]),
      ["measured", measured && given.measured === "inside" ? quoted("inside") : ""]
    ]);
  }

  /* What is wrong with nights, in a sentence; empty where nothing is. */
  function wrongWith(given) {
    const count = (name) => Number(given[name] || 0), nights = count("nights");
    if (!given.first) return "Give the evening of the first night.";
    if (!Number.isInteger(nights) || nights < 1) return "Give how many nights it was.";
    if (COUNTS.some((name) => count(name) < 0 || !Number.isInteger(count(name)))) return "Count whole nights.";
    if (count("cold") + count("cool") + count("warm") + count("hot") > nights) {
      return `Cold, cool, warm and hot are more than the ${nights} nights: count each night once.`;
    }
    if (Math.max(count("rain"), count("damp")) > nights) return `There were ${nights} nights in all.`;
    if (count("wet") > count("rain")) return "Water came in on more nights than it rained: count the rain too.";
    for (const name of ["low_c", "bedtime_c"]) {
      const parts = numbersOf(given[name]);
      if (parts === null) return "Write temperatures as numbers with a point, a space between them.";
      if (parts.length > 1 && parts.length !== nights) return `Give one temperature, or ${nights}.`;
    }
    return "";
  }

  function wrongWithStay(given) {
    if (!given.arrived) return "Give the evening of the first night.";
    return given.left && given.left <= given.arrived ? "Left must be after arrived." : "";
  }

  function filled(form) {
    const fields = [...form.querySelectorAll("[name]")].map((field) => [field.name, field.value]);
    return { ...Object.fromEntries(fields), units: document.documentElement.dataset.units };
  }

  function options(select, names, chosen) {
    names.forEach(([value, text]) => { element("option", text, select).value = value; });
    if (chosen !== undefined) select.value = chosen;
  }

  function listen(known, page) {
    const rows = byId("log-rows"), today = isoDay(new Date());
    const leg = known.legs[legOn(known.legs, today)];
    for (const form of page.querySelectorAll(".log-form")) {
      options(form.querySelector("[name=leg]"), known.legs.map((one) => [one.name, one.name]), leg && leg.name);
      options(form.querySelector("[name=kit]"), known.kits, known.kit);
      const who = form.querySelector("select[name=who]");
      if (who) options(who, known.sleepers.map((name) => [name, name]));
      form.querySelector("[type=date]").value = today;
    }
    function add(form, wrong, made) {
      const given = filled(form), told = wrong(given);
      form.querySelector(".log-wrong").textContent = told;
      if (told) return;
      rows.value += `${rows.value ? "\n" : ""}${made(given)}`;
      rows.dispatchEvent(new Event("input"));
    }
    const done = byId("log-done"), slept = byId("log-slept");
    byId("log-add-done").addEventListener("click", () => add(done, wrongWithStay, doneRow));
    byId("log-add-slept").addEventListener("click", () => add(slept, wrongWith, sleptRow));
    const link = byId("log-download");
    let address = "";
    rows.addEventListener("input", () => {
      if (address) URL.revokeObjectURL(address);
      address = URL.createObjectURL(new Blob([rows.value], { type: "application/toml" }));
      link.href = address;
    });
    byId("log-copy").addEventListener("click", () => {
      rows.select();
      // Pages opened as files may not use the newer way.
      byId("log-copied").textContent = document.execCommand("copy") ? "Copied." : "Press Ctrl+C to copy.";
    });
    byId("log-clear").addEventListener("click", () => {
      rows.value = "";
      rows.dispatchEvent(new Event("input"));
    });
  }

  window.SM.log = { isoDay, legOn, numbersOf, placeOf, doneRow, sleptRow, wrongWith, wrongWithStay };

  const known = data("log-data"), page = byId("page-log");
  if (known && page && byId("log-rows")) listen(known, page);
})();
