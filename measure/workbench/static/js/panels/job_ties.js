// @ts-check
/** What is the same in two photos: the wall, and levels, plumb lines and points picked in both. Effect. */

import { h, named } from "../dom.js";
import { counterpart, setSameAs, tiesOn } from "../edits/ties.js";
import { faceName, isFlat } from "../face_kinds.js";
import { trueSizeText } from "../format.js";
import { icon, wrongSign } from "../icons.js";
import { TIES, nameOfTie } from "../kinds.js";

/** The face of the other photo, where one was chosen here; it is no part of the survey until it is picked. */
const form = { other: "" };

/** @param {import("../main.js").Context} context @param {any} face @returns {any[]} */
export function tiesBody({ store, bench, sheets }, face) {
  const doc = bench.doc();
  const others = doc.faces.filter((/** @type {any} */ f) => f.photo !== face?.photo);
  if (!face || !others.length) return [];
  const nameOf = (/** @type {string} */ id) => faceName(doc, id);
  const inPhoto = (/** @type {any} */ f) => `${f.label || f.id} in ${doc.photos.find((/** @type {any} */ p) => p.id === f.photo)?.file}`;
  const sayers = others.filter((/** @type {any} */ f) => f.same_as === face.id);
  const walls = others.filter((/** @type {any} */ f) => isFlat(f) && !sayers.includes(f));
  const other = others.find((/** @type {any} */ f) => f.id === form.other) ?? counterpart(doc, face);
  const said = store.state.answer?.page?.ties?.[face.photo] ?? [];
  return [
    h("h3", {}, "The same in another photo"),
    ...said.map((/** @type {string} */ text) => h("p", { class: "wrong" }, wrongSign(), text)),
    isFlat(face) && (walls.length || sayers.length) ? named("This wall is", h("select", { id: "same-as", title: "One wall picked in two photos is one plane in both", onchange: (/** @type {any} */ e) => bench.edit("say which wall it is", setSameAs(bench.doc(), face.id, e.target.value || null)) },
      h("option", { value: "", selected: !face.same_as }, sayers.length ? `also seen as ${sayers.map(inPhoto).join(" and ")}` : "not in another photo"),
      ...walls.map((/** @type {any} */ f) => h("option", { value: f.id, selected: face.same_as === f.id }, `the same as ${inPhoto(f)}`)))) : "",
    others.length > 1 ? named("Tie it to", h("select", { id: "tie-to", onchange: (/** @type {any} */ e) => { form.other = e.target.value; store.set({ form: store.state.form + 1 }); } },
      ...others.map((/** @type {any} */ f) => h("option", { value: f.id, selected: f.id === other.id }, inPhoto(f))))) : "",
    h("p", { class: "soft" }, `Pick one thing here, then the same thing on ${inPhoto(other)}:`),
    h("div", { class: "row" }, ...Object.entries(TIES).map(([kind, spec]) => h("button", { id: `tie-${kind}`, type: "button", title: spec.hover, onclick: () => bench.take("tie", kind, { faces: [face.id, other.id] }) }, spec.name))),
    ...tiesOn(doc, face.id).map((tie) => {
      const at = store.state.answer?.results?.points?.[tie.id];
      const name = nameOfTie(tie);
      return h("div", { class: "item" },
        h("div", { class: "grow" }, h("button", { id: `tie-show-${tie.id}`, type: "button", class: "link", onclick: () => show(tie) }, name), h("br"),
          h("span", { class: "soft" }, [...new Set(tie.at.map((/** @type {any} */ end) => nameOf(end.face)))].join(" and ")),
          at ? h("p", {}, `${trueSizeText(Math.abs(at.set_back_mm), at.u_set_back_mm, store.state.unit)} ${at.set_back_mm < 0 ? "before" : "behind"} ${nameOf(at.face)}, level ${trueSizeText(at.level_mm, at.u_level_mm, store.state.unit)}`) : ""),
        h("button", { id: `tie-off-${tie.id}`, type: "button", class: "icon", title: "Remove this tie", "aria-label": `Remove ${name}`, onclick: () => bench.remove(`ties/@${tie.id}`) }, icon("bin")));
    }),
  ];

  /** @param {any} tie */
  function show(tie) {
    const key = `ties/@${tie.id}/at/#${tie.at.findIndex((/** @type {any} */ end) => end.face === face.id)}`;
    bench.choose(key);
    sheets?.find(key);
  }
}
