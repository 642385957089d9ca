// @ts-check
/** Finding a known size in the catalogue by words or by its length. Pure. */

/** Whether every word typed occurs in a row of the catalogue, in any order. @param {any} row @param {string} typed */
export function isSizeOf(row, typed) {
  const length_mm = Math.round(row.length_mm ?? row.gauge_mm);
  const said = `${row.name} ${row.group} ${row.note} ${row.words} ${length_mm}`.toLowerCase();
  return typed.toLowerCase().split(/\s+/).every((word) => said.includes(word));
}
