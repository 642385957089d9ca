// @ts-check
/** The foot: the trust sentence, and at its right scale and units. Effect. */

import { h, fill } from "../dom.js";
import { setScale } from "../edits/faces.js";
import { icon, wrongSign } from "../icons.js";
import { trustSentence } from "../trust_sentence.js";

/** @param {import("../main.js").Context} context */
export function mountFoot({ store, bench }) {
  const el = /** @type {HTMLElement} */ (document.getElementById("foot"));
  const says = h("div", { class: "trust", role: "status", "aria-live": "polite", id: "trust" });
  const scale = h("div", { class: "cell" });
  const unit = h("div", { class: "cell" });
  el.append(says, scale, unit);
  let spoken = 0;

  store.on((s) => [s.place, s.answer, s.problem, s.unit, s.face], (s) => {
    if (s.place !== "bench") return;
    if (s.problem) {
      says.replaceChildren(wrongSign(), h("p", {}, `${s.problem.message} ${s.problem.hint}`));
      return;
    }
    const trust = s.answer?.page?.trust?.[s.face] ?? null;
    const { lead, advice } = trustSentence(trust, s.unit, s.answer?.page?.scale_denominator ?? 1);
    const sign = trust?.state === "doubtful" ? wrongSign() : icon(trust?.state === "checked" ? "tick" : "next", { class: trust?.state === "checked" ? "state-done" : "state-next" });
    // A drag changes the sentence many times a second; a screen reader hears it when it rests.
    says.setAttribute("aria-busy", "true");
    clearTimeout(spoken);
    if (trust) spoken = setTimeout(() => says.setAttribute("aria-busy", "false"), 700);
    says.replaceChildren(sign, h("p", {}, lead ? h("strong", {}, lead) : "", lead ? " " : "", advice || (trust ? (lead ? "" : "Measure something on this face, and its ± stands here.") : "Working it out …")));
  });

  store.on((s) => [s.place, s.start, bench.doc()?.model_scale, s.answer?.page?.scale_problem], (s) => {
    const doc = bench.doc();
    if (!doc) return;
    const scales = s.start?.scales ?? [];
    const known = scales.some((/** @type {any} */ one) => one.value === doc.model_scale);
    const groups = [...new Set(scales.map((/** @type {any} */ one) => one.group))];
    fill(scale, h("label", {}, h("span", { class: "name" }, "Scale of the model"),
      h("select", { id: "scale", onchange: (/** @type {any} */ e) => bench.edit("change scale", setScale(bench.doc(), e.target.value)) },
        known ? "" : h("option", { value: doc.model_scale, selected: true }, doc.model_scale),
        ...groups.map((group) => h("optgroup", { label: group }, ...scales.filter((/** @type {any} */ one) => one.group === group).map((/** @type {any} */ one) => h("option", { value: one.value, selected: one.value === doc.model_scale }, one.name)))))));
  });

  store.on((s) => [s.place, s.unit], (s) => {
    const words = { mm: "millimetres", m: "metres", ft: "feet and inches" };
    fill(unit, h("label", {}, h("span", { class: "name" }, "True sizes in"),
      h("select", { id: "unit", onchange: (/** @type {any} */ e) => store.set({ unit: e.target.value }) },
        ...Object.entries(words).map(([id, word]) => h("option", { value: id, selected: id === s.unit }, word)))));
  });
}
