// @ts-check
/** The left margin: the job in trade order. Any line opens at any time. Effect. */

import { h, fill } from "../dom.js";
import { stateSign } from "../icons.js";
import { jobLines } from "../job_lines.js";
import { photoBody } from "./job_photo.js";
import { frameBody } from "./job_frame.js";
import { facesBody } from "./job_places.js";
import { checksBody } from "./job_checks.js";
import { drawingBody, sheetsBody } from "./job_drawing.js";
import { knownBody } from "./job_known.js";

/** @param {import("../main.js").Context} context */
export function mountJob(context) {
  const { store, bench } = context;
  const el = /** @type {HTMLElement} */ (document.getElementById("job"));
  const bodies = {
    photo: photoBody, faces: facesBody, frame: frameBody, known: knownBody, checks: checksBody,
    measures: measuresBody, drawing: drawingBody, sheets: sheetsBody,
  };
  store.on((s) => [s.place, s.history && bench.doc(), s.face, s.answer, s.open, s.exports, s.form, s.drawingHow, s.run?.group, s.unit, s.saved.state, s.arriving, s.solids, s.cards, s.offers, s.drawing, s.drawn?.lines, s.drawn?.line, s.drawn?.ghostOn, s.handles?.of, s.handles?.told], (s) => {
    const doc = bench.doc();
    if (s.place !== "bench" || !doc) { fill(el); return; }
    const lines = jobLines(doc, s.face, s.answer, { exports: s.exports.length });
    fill(el, h("ol", {}, ...lines.map((line) => {
      const open = s.open === line.id;
      return h("li", { class: `line ${open ? "open" : ""}`, "data-state": line.state },
        h("h2", {}, h("button", { id: `job-${line.id}`, type: "button", "aria-expanded": String(open), "aria-controls": `body-${line.id}`, title: line.why, onclick: () => store.set({ open: open ? null : line.id }) },
          stateSign(line.state), h("span", { class: "name" }, line.name), h("span", { class: "says" }, line.says))),
        open ? h("div", { class: "body", id: `body-${line.id}` }, line.state === "todo" || line.state === "next" ? h("p", { class: "soft" }, line.why) : "", ...bodies[/** @type {keyof typeof bodies} */ (line.id)](context)) : "");
    })));
  });

  function measuresBody() {
    return [h("p", {}, "Choose a kind in the right margin and pick it on either sheet. Names, set-backs and heads are changed in its row.")];
  }
}
