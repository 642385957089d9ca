// @ts-check
/** Asking for the sheets of card: laid out to look at, or all files to take away. Effect. */

import { askJson } from "./api.js";
import { saveAs } from "./dom.js";

/**
 * @typedef {object} Cards
 * @property {"off" | "laying" | "packing"} busy
 * @property {string | null} problem
 * @property {any} told by the server, or null
 * @property {any} doc that the sheets were laid out from
 * @property {number} at which sheet is looked at
 * @property {boolean} open whether the sheets are shown in place of photo and wall
 * @property {any[] | null} materials
 */

/** @type {Cards} */
export const NO_CARDS = { busy: "off", problem: null, told: null, doc: null, at: 0, open: false, materials: null };

/** @param {import("./store.js").Store} store @param {import("./bench.js").Bench} bench */
export function makeCards(store, bench) {
  /** @type {AbortController | null} */
  let underWay = null;
  /** @param {Partial<Cards>} patch */
  const change = (patch) => store.set({ cards: { ...store.state.cards, ...patch } });

  /** @param {"laying" | "packing"} busy @param {string} path @param {(told: any, doc: any) => void} then */
  async function run(busy, path, then) {
    const { survey } = store.state;
    const doc = bench.doc();
    underWay?.abort();
    const mine = new AbortController();
    underWay = mine;
    change({ busy, problem: null });
    try {
      const told = await askJson(`/api/surveys/${survey}/${path}`, { document: doc }, { signal: mine.signal });
      if (survey !== store.state.survey) return;
      change({ busy: "off" });
      then(told, doc);
    } catch (problem) {
      if (underWay !== mine) return;
      const { message, hint, name } = /** @type {any} */ (problem);
      change({ busy: "off", problem: name === "AbortError" ? null : `${message} ${hint ?? ""}`.trim() });
    }
  }

  return {
    change,
    lay: () => run("laying", "cards", (told, doc) => change({ told, doc, open: true, at: Math.min(store.state.cards.at, told.sheets.length - 1) })),
    pack: () => run("packing", "cards/archive", (told) => { store.set({ exports: told.exports }); saveAs(told.exports[0].href, told.exports[0].name); }),
    stop: () => underWay?.abort(),
    async materials() {
      const { survey } = store.state;
      const told = await askJson(`/api/surveys/${survey}/materials`, { document: bench.doc() }).catch(() => ({ materials: [] }));
      if (survey === store.state.survey) change({ materials: told.materials });
    },
  };
}
