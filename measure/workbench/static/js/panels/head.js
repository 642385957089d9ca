// @ts-check
/** The head of the page: title, saved or not, views, undo and redo by name. Effect. */

import { h, fill, textField } from "../dom.js";
import { setTitle } from "../edits/faces.js";
import { canRedo, canUndo, redoName, undoName } from "../history.js";
import { icon, wrongSign } from "../icons.js";

const SAVED = { saved: "Saved", saving: "Saving …", unsaved: "Not saved", lost: "Not saved", elsewhere: "Looking only" };
const LAYOUTS = /** @type {const} */ ([["photo", "Photo", "1"], ["both", "Both", "2"], ["wall", "Wall", "3"]]);

/** @param {import("../main.js").Context} context */
export function mountHead({ store, bench, actions }) {
  const el = /** @type {HTMLElement} */ (document.getElementById("head"));
  store.on((s) => [s.place, s.history, s.saved, s.layout, s.drawing, s.map, s.side, s.theme, s.cards.open], (s) => {
    const mark = h("span", { class: "mark" }, h("img", { src: "/static/rod.svg", alt: "", width: 18, height: 18 }), s.place === "bench" ? "" : "storeyrod");
    if (s.place !== "bench" || !s.history) {
      fill(el, mark, h("span", { class: "space" }), themeButton(s.theme));
      return;
    }
    const doc = bench.doc();
    const onWall = !s.cards.open;
    const bad = s.saved.state === "lost" || s.saved.state === "unsaved";
    fill(el,
      h("button", { id: "to-start", type: "button", class: "bare", title: "All surveys: this one is saved", "aria-label": "All surveys", onclick: actions.toStart }, mark, h("span", { class: "word" }, "Surveys")),
      textField({ id: "title", class: "title", value: doc.title, "aria-label": "Title of the survey", maxlength: 200, ondone: (/** @type {string} */ t) => bench.edit("rename survey", setTitle(bench.doc(), t)) }),
      h("button", { id: "saved", type: "button", class: bad ? "bare saved wrong" : "bare saved", title: `In ${s.folder}. Earlier versions are kept: choose one here.`, "aria-pressed": s.side === "versions" ? "true" : undefined, onclick: () => store.set({ side: s.side === "versions" ? "sizes" : "versions" }) }, bad ? wrongSign() : s.saved.state === "saved" ? icon("tick", { class: "state-done" }) : "", h("span", { class: bad ? "" : "word" }, SAVED[s.saved.state])),
      h("span", { class: "space" }),
      h("div", { class: "set", role: "group", "aria-label": "Sheets shown" },
        ...LAYOUTS.map(([id, name, key]) => h("button", { id: `lay-${id}`, type: "button", "aria-pressed": String(onWall && s.layout === id && s.drawing !== "alone"), title: `${name} (${key})`, onclick: () => actions.showSheets(id) }, name)),
        h("button", { id: "lay-drawing", type: "button", "aria-pressed": String(onWall && s.drawing !== "off"), title: "The elevation: over the wall, then alone, then away (4)", onclick: actions.turnDrawing }, h("span", {}, "Drawing", s.drawing === "off" ? "" : h("span", { class: "word" }, `: ${s.drawing}`))),
        h("button", { id: "lay-map", type: "button", "aria-pressed": String(onWall && s.map), title: "How good the sizes are across the wall (m)", onclick: () => store.set({ map: !s.map }) }, "± map")),
      step("undo", "Undo", canUndo(s.history), undoName(s.history), bench.undo),
      step("redo", "Redo", canRedo(s.history), redoName(s.history), bench.redo),
      themeButton(s.theme),
      h("button", { id: "keys", type: "button", "aria-pressed": String(s.side === "keys"), title: "Keys, terms, safety (?)", onclick: () => store.set({ side: s.side === "keys" ? "sizes" : "keys" }) }, "Help"));
  });

  /** @param {"undo" | "redo"} id @param {string} word @param {boolean} can @param {string} name @param {() => void} run */
  function step(id, word, can, name, run) {
    return h("button", { id, type: "button", class: "step", "aria-disabled": can ? undefined : "true", title: can ? `${word}: ${name}` : `Nothing to ${id}`, "aria-label": can ? `${word} ${name}` : `${word}: nothing to ${id}`, onclick: () => can && run() },
      icon(id), id === "undo" ? h("span", {}, word, h("span", { class: "what" }, can ? ` ${name}` : "")) : "");
  }

  /** @param {"auto" | "light" | "dark"} theme */
  function themeButton(theme) {
    const next = /** @type {const} */ ({ auto: "light", light: "dark", dark: "auto" })[theme];
    const word = { auto: "auto", light: "day", dark: "night" }[theme];
    return h("button", { id: "theme", type: "button", class: "bare", title: "Light of the page: as the computer has it, day, or night", onclick: () => store.set({ theme: next }) }, `Light: ${word}`);
  }
}
