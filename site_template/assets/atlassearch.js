/* Search of a place by its name; accents, case and signs don't matter. */
(() => {
  "use strict";
  const { byId, element } = window.SM.words;
  const { inflatedText, loaded } = window.SM.atlaspack;
  const MOST = 8;
  const LETTERS = { ø: "o", ł: "l", ı: "i", đ: "d", ð: "d", æ: "ae", œ: "oe", þ: "th", ə: "a", ß: "ss" };
  const COORDINATES = /^\s*(-?\d+(?:\.\d+)?)\s*[,; ]\s*(-?\d+(?:\.\d+)?)\s*$/;

  /* A name without what people leave out, as the command line reads it. */
  function folded(text) {
    return text.normalize("NFKD").toLowerCase().replace(/[\u0300-\u036f'`´ʻʼ‘’]/g, "")
      .replace(/[øłıđðæœþəß]/g, (letter) => LETTERS[letter])
      .replace(/[^\p{L}\p{N}\n|]+/gu, " ").trim();
  }

  /* The places of a packed list: of each country its name, then its places line by line. */
  function parsed(text) {
    const places = [];
    let country = "";
    for (const line of text.split("\n")) {
      if (line.startsWith("#")) {
        country = line.slice(1);
      } else if (line) {
        const [names, lat, lng, people] = line.split("\t");
        places.push({ name: names.split("|")[0], names: `|${folded(names)}|`, country,
          lat: lat / 100, lng: lng / 100, people: Number(people) });
      }
    }
    return places.toSorted((a, b) => b.people - a.people);
  }

  /* The places that a text may mean: whole names before beginnings, large towns before small. */
  function matches(places, text) {
    const comma = text.lastIndexOf(",");
    const name = folded(comma < 0 ? text : text.slice(0, comma));
    const country = comma < 0 ? "" : folded(text.slice(comma + 1));
    if (!name) return [];
    const found = [[], [], []];
    for (const place of places) {
      const rank = place.names.includes(`|${name}|`) ? 0 : place.names.includes(`|${name}`) ? 1 :
        place.names.includes(` ${name}`) ? 2 : -1;
      if (rank >= 0 && folded(place.country).startsWith(country)) found[rank].push(place);
      if (found[0].length === MOST) break;
    }
    return found.flat().slice(0, MOST);
  }

  /* Start the search; `go` is told the chosen point and its name. */
  function start(path, go) {
    const field = byId("atlas-place"), list = byId("atlas-found"), told = byId("atlas-search-told");
    let places = null;

    async function load() {
      if (places) return;
      try {
        places = parsed(await inflatedText(await loaded(path)));
        offer();
      } catch (error) {
        told.textContent = error.message;
      }
    }
    function clear() { list.textContent = ""; }
    function choose(place) {
      clear();
      told.textContent = "";
      field.value = `${place.name}, ${place.country}`;
      go(place, field.value);
    }
    function offer() {
      clear();
      if (!places || !field.value.trim() || COORDINATES.test(field.value)) {
        told.textContent = "";
        return;
      }
      const found = matches(places, field.value);
      told.textContent = found.length ? "" : "No place of more than 5\u202f000 people is called so here.";
      for (const place of found) {
        const button = element("button", `${place.name}, ${place.country}`, element("li", undefined, list));
        button.type = "button";
        button.addEventListener("click", () => choose(place));
      }
    }
    function step(event) {
      const stops = [field, ...list.querySelectorAll("button")];
      const at = stops.indexOf(document.activeElement);
      const by = { ArrowDown: 1, ArrowUp: -1 }[event.key];
      if (event.key === "Escape") {
        clear();
        field.focus();
      } else if (by && at >= 0 && stops[at + by]) {
        event.preventDefault();
        stops[at + by].focus();
      }
    }
    async function enter() {
      const typed = COORDINATES.exec(field.value);
      if (typed) {
        clear();
        go({ lat: Number(typed[1]), lng: Number(typed[2]) }, "");
        return;
      }
      await load();
      const [first] = matches(places ?? [], field.value);
      if (first) choose(first);
    }
    field.addEventListener("focus", load, { once: true });
    field.addEventListener("input", offer);
    byId("atlas-search").addEventListener("keydown", step);
    field.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      enter();
    });
  }

  window.SM.atlassearch = { folded, parsed, matches, start };
})();
