// @ts-check
/**
 * Picks and known sizes to look at. Where two explain one contradiction equally well, both are
 * marked, each says so, and each leads to the other. Pure.
 *
 * @typedef {{path: string, name: string}} Other
 * @typedef {{path: string, sentence: string, open: boolean, others: Other[]}} Doubt
 *   `open`: it is not known which of several is wrong
 */

/**
 * Everything in doubt by its path, the worst first; whoever is suspected comes before its rivals.
 * @param {any} answer of the server, or null
 * @returns {Map<string, Doubt>}
 */
export function doubtsByPath(answer) {
  const suspects = answer?.page?.suspects ?? [];
  /** @type {Map<string, Doubt>} */
  const found = new Map();
  const add = (/** @type {Doubt} */ one) => { if (one.path && !found.has(one.path)) found.set(one.path, one); };
  for (const one of suspects) {
    const others = (one.rivals ?? []).filter((/** @type {Other} */ rival) => rival.path && rival.path !== one.path);
    add({ path: one.path, sentence: one.sentence, open: others.length > 0, others });
  }
  for (const one of suspects) {
    for (const rival of one.rivals ?? []) add({ path: rival.path, sentence: one.sentence, open: true, others: [{ path: one.path, name: "the other one" }] });
  }
  return found;
}

/** The doubt about a thing or one of its picks. @param {Map<string, Doubt>} doubts @param {string | null} key */
export function doubtAbout(doubts, key) {
  if (!key) return undefined;
  return doubts.get(key) ?? [...doubts.values()].find((one) => one.path.startsWith(`${key}/`));
}
