// @ts-check
/**
 * Wires the page together; the only module with side effects when imported.
 *
 * @typedef {object} Context
 * @property {import("./store.js").Store} store
 * @property {import("./bench.js").Bench} bench
 * @property {import("./link.js").Link} link
 * @property {ReturnType<typeof keepSaved>} saver
 * @property {import("./actions.js").Actions} actions
 * @property {ReturnType<typeof makeCards>} cards
 * @property {ReturnType<typeof makeOffers>} offers
 * @property {ReturnType<typeof import("./views/pair.js").mountPair> | null} sheets
 */

import { makeActions } from "./actions.js";
import { whenForgotten } from "./api.js";
import { NO_CARDS, makeCards } from "./cards.js";
import { makeBench } from "./bench.js";
import { h } from "./dom.js";
import { wrongSign } from "./icons.js";
import { makeLink } from "./link.js";
import { keepResultsFresh } from "./live.js";
import { NO_OFFERS, makeOffers } from "./offers.js";
import { mountHead } from "./panels/head.js";
import { mountNotice } from "./panels/notice.js";
import { mountStart } from "./panels/start_page.js";
import { forgetRefusals } from "./refusals.js";
import { keepSaved } from "./saver.js";
import { makeStore } from "./store.js";
import { WALK } from "./words.js";

const kept = JSON.parse(localStorage.getItem("storeyrod") ?? "{}");
const store = makeStore({
  place: "opening", start: null, survey: null, folder: "", history: null, saved: { state: "saved", message: "" }, answer: null, problem: null,
  face: "", chosen: null, pick: null, run: null, layout: "both", drawing: "off", map: false, open: null, side: "sizes", versions: null, walk: null,
  unit: kept.unit ?? "mm", theme: kept.theme ?? "auto", letters: kept.letters ?? true, exports: [], form: 0, arriving: null, margin: null, solids: null, cards: NO_CARDS, offers: NO_OFFERS, plusMinus: null, drawn: null, handles: null,
  paperImage: null, drawingHow: { paper: "A4", landscape: true, hidden: [] },
});
const bench = makeBench(store);
const link = makeLink(store);
const results = keepResultsFresh(store);
const saver = keepSaved(store, () => results.again());
whenForgotten(() => { if (!results.busy) results.again(); });
const cards = makeCards(store, bench);
const offers = makeOffers(store, bench);
const actions = makeActions(store, bench, saver, link);
/** @type {Context} */
const context = { store, bench, link, saver, actions, cards, offers, sheets: null };

store.on((s) => [s.survey, s.face, s.chosen, s.open, s.side, s.drawn?.line], forgetRefusals);
store.on((s) => [s.theme], (s) => {
  if (s.theme === "auto") delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = s.theme;
});
store.on((s) => [s.theme, s.unit, s.letters], (s) => localStorage.setItem("storeyrod", JSON.stringify({ theme: s.theme, unit: s.unit, letters: s.letters })));
store.on((s) => [s.history && bench.doc(), s.side], () => store.set({ versions: null }));
store.on((s) => [s.place], (s) => { /** @type {HTMLElement} */ (document.getElementById("page")).dataset.place = s.place; });
store.on((s) => [s.walk], (s) => { /** @type {HTMLElement} */ (document.getElementById("page")).dataset.walk = s.walk === null ? "" : WALK[s.walk]?.part ?? ""; });
store.on((s) => [s.history && bench.doc()?.title, s.place], (s) => { document.title = s.place === "bench" ? `${bench.doc()?.title || "Survey"} · storeyrod` : "storeyrod"; });

const work = /** @type {HTMLElement} */ (document.getElementById("work"));
mountHead(context);
mountNotice(context);
mountStart(context, work);
// The bench itself comes when it is wanted: the first page needs none of it.
let wanted = false;
store.on((s) => [s.place], async (s) => {
  if (s.place !== "bench" || wanted) return;
  wanted = true;
  const { mountBench } = await import("./bench_page.js");
  mountBench(context, work);
});

// A photo dropped beside the place for it must not replace the page; on the bench it is added to the survey.
for (const name of ["dragover", "drop"]) addEventListener(name, (event) => event.preventDefault());
addEventListener("drop", (event) => {
  const file = event.dataTransfer?.files[0];
  if (file && store.state.place === "bench" && store.state.saved.state !== "elsewhere") actions.addPhoto(file);
});

async function begin() {
  try {
    await actions.freshStart();
    const key = /^#s\/(.+)$/.exec(location.hash)?.[1] ?? store.state.start?.opened ?? null;
    if (key) await actions.open(key).catch(() => store.set({ place: "start" }));
    else store.set({ place: "start" });
  } catch (problem) {
    const { message, hint } = /** @type {any} */ (problem);
    work.append(h("div", { class: "start" }, h("p", { class: "wrong", role: "alert" }, wrongSign(), `${message} ${hint ?? ""}`)));
  }
}
begin();
