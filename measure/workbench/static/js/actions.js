// @ts-check
/** What the page does with the program's help: open, start, export, offer. Effect. */

import { ask, askJson } from "./api.js";
import { NO_CARDS } from "./cards.js";
import { saveAs } from "./dom.js";
import { onPaper } from "./drawn.js";
import { addPhoto } from "./edits/photos.js";
import { copyMeasure } from "./edits/things.js";
import { makeHistory } from "./history.js";
import { NO_OFFERS } from "./offers.js";
import { pathFromText, pathText, valueAt } from "./paths.js";
import { accept, refuse } from "./refusals.js";

/**
 * @param {import("./store.js").Store} store @param {import("./bench.js").Bench} bench
 * @param {any} saver @param {import("./link.js").Link} link
 */
export function makeActions(store, bench, saver, link) {
  /** @param {any} told by the server: key, document, revision, folder, exports @param {Partial<import("./store.js").State>} [more] */
  async function enter(told, more = {}) {
    saver.opened(told.document, told.revision);
    const face = told.document.faces[0]?.id ?? "";
    store.set({
      place: "bench", survey: told.key, folder: told.folder, history: makeHistory(told.document), answer: null, problem: null,
      face, chosen: null, pick: null, run: null, exports: told.exports ?? [], drawn: null, handles: null, plusMinus: null, drawing: "off",
      paperImage: null, arriving: null, solids: null, cards: NO_CARDS, offers: NO_OFFERS, saved: { state: "saved", message: "" }, open: null, walk: null, side: "sizes", versions: null, ...more,
    });
    location.hash = `s/${told.key}`;
    await saver.claim();
    const front = told.document.faces[0];
    if (front && !front.frame && front.surface?.kind !== "round") bench.take("frame");
  }

  /** The same measure with its upper left corner at a pick; true sizes stay. @param {string} key @param {number[]} pick */
  async function placeCopy(key, pick) {
    const path = pathFromText(key);
    const measure = valueAt(bench.doc(), path);
    if (!measure) return;
    const all = [...measure.at, ...(measure.head_at ?? [])];
    const [to, ...onWall] = await link.wallFromPhoto([pick, ...all]);
    if (!to || onWall.some((p) => p === null)) return;
    const points = /** @type {number[][]} */ (onWall);
    // the upper left corner: the one with the least sum, as the sheet runs right and down
    const corner = points.slice(0, measure.at.length).reduce((best, p) => (p[0] + p[1] < best[0] + best[1] ? p : best));
    const moved = await link.photoFromWall(points.map((p) => [p[0] + to[0] - corner[0], p[1] + to[1] - corner[1]]));
    if (moved.some((p) => p === null)) return;
    const photo = /** @type {number[][]} */ (moved);
    const made = copyMeasure(bench.doc(), path, photo.slice(0, measure.at.length), photo.slice(measure.at.length));
    bench.edit(`copy ${measure.label || measure.id}`, made.doc);
    bench.choose(pathText(made.path));
  }
  bench.copiesBy(placeCopy);

  /** How often the text of each field was read. @type {Map<string, number>} */
  const reading = new Map();

  /** @type {AbortController | null} */
  let exporting = null;

  /** @type {AbortController | null} */
  let arriving = null;

  async function freshStart() { store.set({ start: await askJson("/api/start") }); }

  return {
    freshStart,
    /** @param {string} key */
    open: async (key) => enter(await askJson(`/api/surveys/${encodeURIComponent(key)}`)),
    openDemo: async () => enter(await askJson("/api/demo", {}), { walk: 0 }),
    /** @param {File} file @param {AbortSignal} signal */
    async newFromPhoto(file, signal) {
      const response = await ask(`/api/photos?name=${encodeURIComponent(file.name)}`, { method: "POST", body: file, headers: { "Content-Type": "application/octet-stream" }, signal });
      await enter(await response.json());
    },
    /** Put one more photo into the open survey, with a first face in it. @param {File} file */
    async addPhoto(file) {
      const { survey } = store.state;
      arriving?.abort();
      const mine = new AbortController();
      arriving = mine;
      store.set({ arriving: { name: file.name, problem: null }, open: "photo" });
      try {
        const response = await ask(`/api/surveys/${survey}/photos?name=${encodeURIComponent(file.name)}`, { method: "POST", body: file, headers: { "Content-Type": "application/octet-stream" }, signal: mine.signal });
        const added = addPhoto(bench.doc(), await response.json());
        if (survey !== store.state.survey) return;
        bench.edit("add photo", added.doc);
        store.set({ arriving: null, face: added.face, chosen: null, pick: null });
        bench.take("frame");
      } catch (problem) {
        const { message, hint, name } = /** @type {any} */ (problem);
        if (arriving === mine) store.set({ arriving: name === "AbortError" ? null : { name: file.name, problem: `${message} ${hint ?? ""}`.trim() } });
      }
    },
    stopArriving() { arriving?.abort(); store.set({ arriving: null }); },
    async toStart() {
      const { survey } = store.state;
      if (survey) await saver.letGo(survey);
      store.set({ place: "start", survey: null, history: null, answer: null, run: null, walk: null });
      location.hash = "";
      await freshStart();
    },

    /** Photo, wall or both: a drawing alone and sheets of card make way. @param {import("./store.js").State["layout"]} layout */
    showSheets(layout) {
      const { drawing, cards } = store.state;
      store.set({ layout, drawing: drawing === "alone" ? "off" : drawing, cards: { ...cards, open: false } });
    },
    turnDrawing() {
      const next = /** @type {const} */ ({ off: "over", over: "alone", alone: "off" })[store.state.drawing];
      store.set({ drawing: next, layout: next === "over" && store.state.layout === "photo" ? "both" : store.state.layout, run: null });
    },

    /** Read a length as people type it; a refusal stands at the field.
     * @param {string} text @param {string} id of the field @param {(mm: number | null) => any} [then] */
    async readLength(text, id, then = () => undefined) {
      const mine = (reading.get(id) ?? 0) + 1;
      reading.set(id, mine);
      try {
        const mm = text === "" ? null : (await askJson("/api/lengths", { text })).length_mm;
        accept(id);
        await then(mm);
      } catch (problem) {
        const { message, hint } = /** @type {import("./api.js").ApiError} */ (problem);
        // what was typed anew meanwhile is not to be blamed for it
        if (reading.get(id) === mine && !document.getElementById(id)?.dataset.dirty) refuse(id, text, `${message} ${hint ?? ""}`.trim());
      }
    },

    /** Take a copy in hand: the next pick says where its upper left corner goes. @param {string} key */
    copy(key) {
      const measure = valueAt(bench.doc(), pathFromText(key));
      bench.take("copy", "", { key, name: measure.label || measure.id });
    },

    async listVersions() {
      const { survey } = store.state;
      const told = await askJson(`/api/surveys/${survey}/versions`).catch(() => ({ versions: [] }));
      store.set({ versions: told.versions });
    },
    /** @param {string} name */
    async goBackTo(name) {
      const { survey } = store.state;
      try {
        await saver.alone(async () => {
          const told = await askJson(`/api/surveys/${survey}/versions`, { name, tab: saver.tab });
          saver.opened(told.document, told.revision);
          bench.edit("go back to a version", told.document);
        });
        store.set({ versions: null });
      } catch (problem) { store.set({ problem: { message: /** @type {Error} */ (problem).message, hint: /** @type {any} */ (problem).hint ?? "", where: "versions" } }); }
    },

    stopExport: () => exporting?.abort(),
    /** @param {string} format */
    async exportAs(format) {
      const { survey, face, drawingHow } = store.state;
      store.set({ drawingHow: { ...store.state.drawingHow, exporting: format.toUpperCase(), exportProblem: null, exportRemarks: [] } });
      exporting?.abort();
      exporting = new AbortController();
      try {
        const told = await askJson(`/api/surveys/${survey}/exports`, { document: bench.doc(), face, format, how: onPaper(drawingHow) }, { signal: exporting.signal });
        store.set({ exports: told.exports, drawingHow: { ...store.state.drawingHow, exporting: null, exportRemarks: told.remarks } });
        saveAs(told.exports[0].href, told.exports[0].name);
      } catch (problem) {
        const { message, hint, name } = /** @type {any} */ (problem);
        if (name === "AbortError") { store.set({ drawingHow: { ...store.state.drawingHow, exporting: null } }); return; }
        store.set({ drawingHow: { ...store.state.drawingHow, exporting: null, exportProblem: `${message} ${hint ?? ""}`.trim() } });
      }
    },
  };
}
/** @typedef {ReturnType<typeof makeActions>} Actions */
