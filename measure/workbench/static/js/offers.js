// @ts-check
/** What the program finds in the photo and nobody took yet: asked for, kept or put away. Effect. */

import { askJson } from "./api.js";
import { keepGuides, keepOpenings } from "./edits/offers.js";

/**
 * @typedef {object} Offers
 * @property {"guides" | "openings" | "bricks" | null} what
 * @property {boolean} busy
 * @property {string | null} problem
 * @property {any} told by the server
 * @property {string} face that openings or bricks are for
 * @property {string} photo that guides are for
 */

/** @type {Offers} */
export const NO_OFFERS = { what: null, busy: false, problem: null, told: null, face: "", photo: "" };

/** @param {import("./store.js").Store} store @param {import("./bench.js").Bench} bench */
export function makeOffers(store, bench) {
  /** @type {AbortController | null} */
  let underWay = null;
  const clear = () => { underWay?.abort(); underWay = null; store.set({ offers: NO_OFFERS }); };

  /** @param {"guides" | "openings" | "bricks"} what @param {Record<string, any>} [more] that is sent along */
  async function find(what, more = {}) {
    const { survey, face } = store.state;
    const photo = bench.doc()?.faces.find((/** @type {any} */ f) => f.id === face)?.photo ?? "";
    underWay?.abort();
    const mine = new AbortController();
    underWay = mine;
    const about = { what, face, photo };
    store.set({ offers: { ...NO_OFFERS, ...about, busy: true } });
    try {
      const told = await askJson(`/api/surveys/${survey}/${what}`, { document: bench.doc(), ...(what === "guides" ? { photo } : { face }), ...more }, { signal: mine.signal });
      if (underWay === mine) store.set({ offers: { ...NO_OFFERS, ...about, told } });
    } catch (problem) {
      const { message, hint, name } = /** @type {any} */ (problem);
      if (underWay === mine && name !== "AbortError") store.set({ offers: { ...NO_OFFERS, ...about, problem: `${message} ${hint ?? ""}`.trim() } });
    }
  }

  return {
    find, clear,
    keepGuides() {
      bench.edit("keep found guides", keepGuides(bench.doc(), store.state.offers.told.guides));
      clear();
    },
    /** @param {readonly number[]} which places in the list of proposals */
    keepOpenings(which) {
      const { face, told } = store.state.offers;
      bench.edit(which.length === 1 ? "keep found opening" : "keep found openings", keepOpenings(bench.doc(), face, which.map((i) => told.proposals[i].opening)));
      this.dropOpenings(which);
    },
    /** @param {readonly number[]} which */
    dropOpenings(which) {
      const { offers } = store.state;
      const left = offers.told.proposals.filter((/** @type {any} */ _, /** @type {number} */ i) => !which.includes(i));
      if (left.length) store.set({ offers: { ...offers, told: { ...offers.told, proposals: left } } });
      else clear();
    },
  };
}

/**
 * Offers as lines on a sheet, dashed until they are taken.
 * @param {Offers} offers @param {"photo" | "wall"} sheet @param {string} face @param {string} photo shown
 * @returns {{points: readonly (readonly number[])[], closed: boolean}[]} in sheet coordinates
 */
export function offeredLines(offers, sheet, face, photo) {
  if (!offers.told) return [];
  if (offers.what === "guides") {
    if (sheet === "wall" || offers.photo !== photo) return [];
    return Object.values(offers.told.guides).flat().map((/** @type {any} */ guide) => ({ points: guide.at.map((/** @type {number[]} */ p) => [p[0], p[1]]), closed: false }));
  }
  if (offers.face !== face || offers.what !== "openings") return [];
  return offers.told.proposals.map((/** @type {any} */ one) => {
    const [u0, v0, u1, v1] = one.box_mm;
    const points = sheet === "wall" ? [[u0, -v0], [u1, -v0], [u1, -v1], [u0, -v1]] : roundMiddle(one.opening.at);
    return { points, closed: true };
  });
}

/** Corners in their order round the middle. @param {number[][]} corners */
function roundMiddle(corners) {
  const x = corners.reduce((sum, p) => sum + p[0], 0) / corners.length;
  const y = corners.reduce((sum, p) => sum + p[1], 0) / corners.length;
  return [...corners].sort((a, b) => Math.atan2(a[1] - y, a[0] - x) - Math.atan2(b[1] - y, b[0] - x));
}
