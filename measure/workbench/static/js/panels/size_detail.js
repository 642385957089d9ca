// @ts-check
/** What can be changed about the chosen measure, under its row. Effect. */

import { h, named, textField } from "../dom.js";
import { jointsOf, keepJoints, setCount } from "../edits/joints.js";
import * as things from "../edits/things.js";
import { counted } from "../format.js";
import { icon, wrongSign } from "../icons.js";
import { HEADS } from "../kinds.js";
import { pathFromText, valueAt } from "../paths.js";
import { askedField, refusalOf, refuse } from "../refusals.js";

/** @param {import("../main.js").Context} context @param {import("../measure_rows.js").Row} row
 * @param {{message: string, hint: string} | undefined} problem of this measure */
export function sizeDetail({ store, bench, sheets, actions }, row, problem) {
  const path = pathFromText(row.key);
  const measure = valueAt(bench.doc(), path);
  if (!measure) return "";
  const setBack = (/** @type {string} */ text) => actions.readLength(text, "detail-set-back", (mm) => bench.edit("change set-back", things.setField(bench.doc(), path, "set_back_mm", mm ?? 0)));
  const head = measure.head ?? "flat";
  return h("div", { class: "detail" },
    problem ? h("p", { class: "wrong" }, wrongSign(), `${problem.message} ${problem.hint ?? ""}`) : "",
    ...row.warnings.map((text) => h("p", { class: "wrong" }, wrongSign(), text)),
    h("div", { class: "two" },
      named("Name", textField({ id: "detail-name", value: measure.label ?? "", ondone: (/** @type {string} */ text) => bench.edit("rename measure", things.nameThing(bench.doc(), path, text)) })),
      measure.kind === "set-back" ? "" : named("Set-back", askedField({ id: "detail-set-back", title: "How far it lies behind the face of the wall: 100, 4 in, 0.1 m", value: measure.set_back_mm ? `${measure.set_back_mm} mm` : "", placeholder: "0 mm", ondone: setBack }))),
    refusalOf("detail-set-back"),
    measure.kind === "opening" ? h("div", { class: "stack" },
      h("div", { class: "two" },
        named("Head", h("select", { id: "detail-head", title: HEADS[/** @type {keyof typeof HEADS} */ (head)].hover, onchange: (/** @type {any} */ e) => headChosen(e.target.value) },
          ...Object.entries(HEADS).map(([id, spec]) => h("option", { value: id, selected: id === head, title: spec.hover }, spec.name)))),
        h("label", {}, h("span", { class: "name" }, "Picked at"), h("select", { id: "detail-glass", title: "Glass lies behind the wall: without its set-back its size reads small.", onchange: (/** @type {any} */ e) => bench.edit("picked at", things.setField(bench.doc(), path, "at_glass", e.target.value === "glass")) },
          h("option", { value: "wall", selected: !measure.at_glass }, "face of wall"), h("option", { value: "glass", selected: measure.at_glass }, "glass or frame")))),
      HEADS[/** @type {keyof typeof HEADS} */ (head)].most ? h("button", { id: "detail-head-pick", type: "button", onclick: () => bench.take("head", head, { path }) }, measure.head_at?.length ? "Pick the head again" : `Pick the head: ${HEADS[/** @type {keyof typeof HEADS} */ (head)].asks[0]}`) : "") : "",
    measure.kind === "courses" ? courses(measure) : "",
    h("div", { class: "row" },
      h("button", { id: "detail-find", type: "button", onclick: () => sheets?.find(row.key) }, icon("find"), "Show"),
      h("button", { id: "detail-copy", type: "button", title: "The same measure at another place: then pick where its upper left corner goes", onclick: () => actions.copy(row.key) }, icon("copy"), "Copy"),
      h("button", { id: "detail-remove", type: "button", onclick: () => bench.remove(row.key) }, icon("bin"), "Remove")));

  /** @param {keyof typeof HEADS} next */
  function headChosen(next) {
    bench.edit("change head", things.setHead(bench.doc(), path, next));
    if (HEADS[next].least) bench.take("head", next, { path });
  }

  /** @param {any} courses */
  function courses({ count, joints }) {
    const result = store.state.answer?.results?.faces?.[String(path[1]).slice(1)]?.measures?.[measure.id];
    const read = count == null && !joints?.length;
    const shown = jointsOf(measure, result);
    const turning = store.state.run?.group === "joints";
    return h("div", { class: "stack" },
      named("Courses between the picks", askedField({ id: "detail-count", inputmode: "numeric", value: count ?? (joints?.length ? joints.length - 1 : ""), placeholder: "read from the photo", ondone: countTyped })), refusalOf("detail-count"),
      read && result?.sure === false ? h("p", { class: "offer" }, wrongSign(), shown.length ? "Not sure of this count. The likeliest joints are dashed on the sheets: put them right, or type the count." : "Not sure of this count: compare it with the wall and type the right one.") : "",
      shown.length ? h("p", { class: "soft" }, `${counted(shown.length, "joint")} ${read ? "read from the photo" : "as you put them right"}, shown on both sheets.`) : "",
      shown.length ? h("div", { class: "row" },
        h("button", { id: "joints-turn", type: "button", "aria-pressed": String(turning), title: "Click a joint to take it away, or the place of a missing one to add it. By keys: arrows move the cross-hair, Enter takes away or adds.", onclick: turning ? bench.putDown : turnJoints }, "Add or take away joints"),
        read && result?.sure === false ? h("button", { id: "joints-keep", type: "button", onclick: () => bench.edit("keep joints", keepJoints(bench.doc(), path, shown)) }, "They are right") : "",
        joints?.length ? h("button", { id: "joints-read", type: "button", onclick: () => bench.edit("read joints again", keepJoints(bench.doc(), path, [])) }, "Read them again") : "") : "");
  }

  /** @param {string} text */
  function countTyped(text) {
    if (text && !/^[1-9]\d{0,3}$/.test(text)) refuse("detail-count", text, `“${text}” is not a count: type a whole number, or leave it empty to have it read from the photo.`);
    else bench.edit("change count", setCount(bench.doc(), path, text ? Number(text) : null));
  }

  function turnJoints() {
    bench.take("joints", "", { path: row.key });
    // on a narrow page the sheets come into view with the tool in hand, and have no size before
    requestAnimationFrame(() => requestAnimationFrame(() => sheets?.showJoints()));
    document.getElementById("pane-wall")?.focus();
  }
}
