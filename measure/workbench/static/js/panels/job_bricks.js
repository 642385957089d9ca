// @ts-check
/** Which brick the wall is laid of: every format weighed, what each would make the door, one chosen. Effect. */

import { h, named } from "../dom.js";
import { chooseFormat, countedCourses, formatOf, withReadCounts } from "../edits/bricks.js";
import { counted, plain, trueSize } from "../format.js";
import { icon, stateSign, wrongSign } from "../icons.js";
import { askedField, refusalOf, refuse } from "../refusals.js";

/** The evidence of bricks along a course; it is no part of the survey. */
const form = { distance: "", count: "" };

/** How each verdict is shown: its sign and its words. */
const VERDICTS = /** @type {const} */ ({
  agrees: ["done", "agrees"], doubtful: ["next", "doubtful"], contradicted: ["wrong", "does not agree"], untested: ["todo", "not tested"],
});

/** @param {import("../main.js").Context} context @param {any} face @returns {any[]} */
export function bricksBody({ store, bench, offers }, face) {
  const results = store.state.answer?.results?.faces?.[face.id];
  if (!countedCourses(face, results).length) return [];
  const now = store.state.offers;
  const mine = now.what === "bricks" && now.face === face.id;
  const told = mine ? now.told : null;
  const distances = face.measures.filter((/** @type {any} */ m) => m.kind === "distance");
  const spanned = distances.find((/** @type {any} */ m) => m.id === form.distance);
  return [h("fieldset", { class: "bricks" }, h("legend", {}, "Which brick is it?"),
    h("p", { class: "soft" }, "A wall is of one brick or another. Each format is set beside the other known sizes and beside the brick's own length for its height."),
    distances.length ? h("div", { class: "stack" },
      named("Along one course", h("select", { id: "brick-distance", title: "A distance from joint to joint along one course, over bricks laid lengthwise", onchange: (/** @type {any} */ e) => { form.distance = e.target.value; store.set({ form: store.state.form + 1 }); } },
        h("option", { value: "", selected: !spanned }, "no distance"), ...distances.map((/** @type {any} */ m) => h("option", { value: m.id, selected: m.id === form.distance }, m.label || m.id)))),
      spanned ? named("spans so many bricks", askedField({ id: "brick-count", inputmode: "numeric", value: form.count, placeholder: "counted in the photo", ondone: (/** @type {string} */ t) => { form.count = t; if (t && spans() === null) refuse("brick-count", t, "How many bricks does it span? Type a whole number."); store.set({ form: store.state.form + 1 }); } })) : "", refusalOf("brick-count"))
      : h("p", { class: "soft" }, "Measure a distance along one course, from joint to joint, and the brick's length can speak too."),
    mine && now.busy ? h("div", { class: "row", role: "status" }, h("span", { class: "grow" }, "Weighing …"), h("button", { id: "bricks-stop", type: "button", onclick: offers.clear }, "Stop"))
      : h("div", { class: "row" }, h("button", { id: "bricks-weigh", type: "button", onclick: weigh }, told ? "Weigh again" : "Weigh the formats"), told ? h("button", { id: "bricks-off", type: "button", onclick: offers.clear }, "Put away") : ""),
    mine && now.problem ? h("p", { class: "wrong", role: "alert" }, wrongSign(), now.problem) : "",
    ...(told ? weighed(told) : []))];

  function spans() { return /^[1-9]\d{0,2}$/.test(form.count) ? Number(form.count) : null; }

  function weigh() {
    const count = spans();
    offers.find("bricks", { document: withReadCounts(bench.doc(), face.id, results), stretchers: spanned ? [{ measure: spanned.id, count }] : [] });
  }

  /** @param {any} choice @returns {any[]} */
  function weighed({ sentence, evidence, formats }) {
    const standing = formats.filter((/** @type {any} */ one) => one.verdict !== "contradicted");
    const fallen = formats.filter((/** @type {any} */ one) => one.verdict === "contradicted");
    const found = [
      evidence.gauge_mm ? `a course of ${plain(evidence.gauge_mm, 1)} ±${plain(evidence.u_gauge_mm, 1)} mm by the other known sizes` : "",
      evidence.ratio ? `a brick with its joint ${plain(evidence.ratio, 2)} ±${plain(evidence.u_ratio, 2)} times as long as a course is high` : "",
    ].filter(Boolean);
    return [
      h("p", { class: "offer", role: "status" }, icon("next"), h("span", {}, sentence)),
      found.length ? h("p", { class: "soft" }, `The wall shows ${found.join(", and ")}.`) : "",
      h("ul", { class: "formats", id: "formats" }, ...standing.map(format)),
      fallen.length ? h("details", { id: "formats-out" }, h("summary", {}, `${counted(fallen.length, "format")} that ${fallen.length === 1 ? "does" : "do"} not agree`), h("ul", { class: "formats" }, ...fallen.map(format))) : "",
    ];
  }

  /** @param {any} one */
  function format(one) {
    const chosen = formatOf(face) === one.key;
    const [sign, word] = VERDICTS[/** @type {keyof typeof VERDICTS} */ (one.verdict)];
    const opening = doorOf(one.openings);
    const ratio = one.module_mm ? `, length to height ${plain(one.module_mm / one.gauge_mm, 2)}` : "";
    const size = (/** @type {number} */ mm, /** @type {number} */ u_mm) => { const shown = trueSize(mm, u_mm, store.state.unit); return `${shown.value}${shown.u ? ` ±${shown.u}` : ""}`; };
    return h("li", { class: `item stacked ${sign === "wrong" ? "wrong-item" : chosen ? "here" : ""}` },
      h("div", { class: "row tight" }, stateSign(sign), h("strong", { class: "grow" }, one.name),
        h("button", { id: `brick-${one.key}`, type: "button", "aria-pressed": String(chosen), "aria-label": `Choose ${one.name}`, title: `${one.source}`, onclick: () => choose(one) }, chosen ? "Chosen" : "Choose")),
      h("p", { class: "soft", title: "The share: how likely it is among all formats, were each as likely beforehand. Length to height counts a joint with each." }, `${word}${one.share == null ? "" : `, ${plain(100 * one.share, 0)} %`}: course ${plain(one.gauge_mm, 1)} mm${ratio}`),
      opening ? h("p", {}, `${opening.label || "Opening"} would be ${size(opening.width_mm, opening.u_width_mm)} × ${size(opening.height_mm, opening.u_height_mm)}`) : "");
  }

  /** @param {any} one format */
  function choose(one) {
    bench.edit("choose brick", chooseFormat(bench.doc(), face.id, one, results));
  }
}

/** The door if there is one, else the first opening. @param {Record<string, any>} openings @returns {any} */
function doorOf(openings) {
  const all = Object.entries(openings ?? {});
  return (all.find(([id, one]) => /door/i.test(`${id} ${one.label}`)) ?? all[0])?.[1];
}
