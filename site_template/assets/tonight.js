/* Tonight's forecast against a kit's own limits. Nothing is kept and nothing is sent; a field
   that is empty or holds no number is unknown, never 0. */
(() => {
  "use strict";
  const { byId, data } = window.SM.words;
  const limits = data("kit-limits");
  const SPACE = "\u202f";

  /* A temperature or a difference as the reader's thermometer has it. */
  function shown(degrees, units, difference) {
    const value = units === "imperial" ? degrees * 9 / 5 + (difference ? 0 : 32) : degrees;
    const whole = Math.round(value);
    return `${whole < 0 ? "\u2212" : ""}${Math.abs(whole)}${SPACE}${units === "imperial" ? "\u00b0F" : "\u00b0C"}`;
  }

  /* What was typed as degrees Celsius; null where it is no temperature that occurs on Earth. */
  function celsius(text, units) {
    const plain = text.trim().replace("\u2212", "-").replace(",", ".");
    if (!/^[-+]?\d+(\.\d+)?$/.test(plain)) return null;
    const value = units === "imperial" ? (Number(plain) - 32) * 5 / 9 : Number(plain);
    return value >= -90 && value <= 60 ? value : null;
  }

  /* What a forecast low means for a kit: how grave it is, and in words. */
  function verdict(low, kit, units) {
    if (low === null) return { grave: false, words: "Unknown: type the forecast's low." };
    if (kit.dangerous === null || kit.coldest.includes(null)) {
      return { grave: false, words: "Unknown: this kit has no limit to compare with." };
    }
    const mild = Math.max(...kit.coldest), hard = Math.min(...kit.coldest);
    if (low < kit.dangerous) {
      return { grave: true, words: `Dangerous: below ${shown(kit.dangerous, units)}. Don't sleep in this kit tonight.` };
    }
    if (low < hard) {
      return { grave: false, words: `Too cold by ${shown(hard - low, units, true)} even under cloud: ` +
        "more than half of such nights are rough. Add bedding, or sleep elsewhere." };
    }
    if (low < mild) {
      return { grave: false, words: `Close: under a clear, dry sky the limit is ${shown(mild, units)}, ` +
        `under cloud ${shown(hard, units)}. Count on a rough night if the sky clears.` };
    }
    return { grave: false, words: `${shown(low - mild, units, true)} to spare against cold, even under a clear, dry sky.` };
  }

  function listen(form) {
    const field = form.querySelector("input"), told = form.querySelector("output");
    const kit = limits[form.dataset.kit];
    function tell() {
      const units = document.documentElement.dataset.units;
      const { grave, words } = verdict(celsius(field.value, units), kit, units);
      told.textContent = words;
      told.classList.toggle("danger", grave);
    }
    field.addEventListener("input", tell);
    byId("units")?.addEventListener("change", tell);
    tell();
  }

  window.SM.tonight = { celsius, verdict };
  if (limits) document.querySelectorAll(".tonight").forEach(listen);
})();
