/* What the map tells: the value of a cell, a place in words, a region's line. */
(() => {
  "use strict";
  const { percent } = window.SM.words;
  const MISSING = 255; // stored where there is no climate or no assessment
  const CERTAIN = 200; // stored for a share of 1

  /* The share at a point in a month counted from 1; null outside the grid and where missing.
     Rows run from south to north, columns from west to east, months one after the other. */
  function valueAt(entry, month, point) {
    const { south, west, north, east } = entry.box;
    const row = Math.floor((point.lat - south) / (north - south) * entry.rows);
    const column = Math.floor((point.lng - west) / (east - west) * entry.columns);
    if (row < 0 || column < 0 || row >= entry.rows || column >= entry.columns) return null;
    if (!entry.bytes) entry.bytes = window.atob(entry.data);
    const code = entry.bytes.charCodeAt(((month - 1) * entry.rows + row) * entry.columns + column);
    return code === MISSING ? null : code / CERTAIN;
  }

  function placeWords(point) {
    const latitude = `${Math.abs(point.lat).toFixed(1)}° ${point.lat < 0 ? "S" : "N"}`;
    return `${latitude} ${Math.abs(point.lng).toFixed(1)}° ${point.lng < 0 ? "W" : "E"}`;
  }

  /* A value in words; undefined while it is still loading. */
  function valueWords(value, what) {
    if (value === undefined) return "loading";
    return value === null ? "no climate data, or not assessed" : `about ${percent(value)} of nights ${what}`;
  }

  /* A region's outline: thicker from hazard level to level, with the level's dashes. */
  function regionLine(level, lines) {
    return { weight: 1.5 + level, dashArray: level ? lines[level - 1] : "" };
  }

  window.SM.mapvalues = { valueAt, placeWords, valueWords, regionLine };
})();
