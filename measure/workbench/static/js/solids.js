// @ts-check
/** The solved faces as lines, fetched only while the faces are looked at. Effect. */

import { askJson, latest } from "./api.js";

/** Lines of the job during which the faces are outlined over the photo. */
const SHOWN_WITH = ["faces", "frame"];

/** @param {import("./store.js").State} s */
export const solidsShown = (s) => SHOWN_WITH.includes(s.open ?? "");

/** @param {import("./store.js").Store} store */
export function keepSolidsFresh(store) {
  const asker = latest(
    (/** @type {any} */ want, signal) => askJson(`/api/surveys/${want.survey}/solids`, { stamp: want.stamp }, { signal }),
    (told) => store.set({ solids: told }),
    () => store.set({ solids: null }),
  );
  store.on((s) => [solidsShown(s), s.survey, s.answer?.stamp], (s) => {
    if (s.survey && s.answer && solidsShown(s)) asker.ask({ survey: s.survey, stamp: s.answer.stamp });
  });
}
