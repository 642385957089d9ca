// @ts-check
/** The known size: from the catalogue by trade name, or typed; then its two ends are picked. Effect. */

import { h, named, textField } from "../dom.js";
import { plain, trueSizeText } from "../format.js";
import { icon, wrongSign } from "../icons.js";
import { isSizeOf } from "../known_sizes.js";
import { removeThing, setField } from "../edits/things.js";
import { askedField, refusalOf, refuse } from "../refusals.js";
import { DOOR_FACES } from "../words.js";
import { bricksBody } from "./job_bricks.js";
import { faceOf } from "./job_places.js";

/** What is chosen and typed here; it is no part of the survey until its ends are picked. */
const form = { filter: "", size: /** @type {any} */ (null), typed: "", plusMinus: "", count: "12", along: "free", unfolded: new Set() };

/** @param {import("../main.js").Context} context */
export function knownBody(context) {
  const { store, bench, actions } = context;
  const face = faceOf(context);
  if (!face) return [];
  const redraw = () => store.set({ form: store.state.form + 1 });
  const sizes = (store.state.start?.sizes ?? []).filter((/** @type {any} */ one) => isSizeOf(one, form.filter));
  const groups = [...new Set(sizes.map((/** @type {any} */ one) => one.group))];
  const isDoor = form.size ? Boolean(form.size.door_face) : /door/i.test(form.filter);

  return [
    ...(face.references ?? []).map((/** @type {any} */ ref, /** @type {number} */ i) => referenceRow(context, ref, i)),
    ...bricksBody(context, face),
    h("fieldset", {}, h("legend", {}, face.references?.length ? "Another known size" : "From the catalogue"),
      textField({ id: "size-filter", placeholder: "door, brick, plate …", "aria-label": "Find in the catalogue", value: form.filter, oninput: (/** @type {any} */ e) => { form.filter = e.target.value; redraw(); }, ondone: () => undefined }),
      h("div", { class: "catalogue", id: "catalogue", role: "group", "aria-label": "Known sizes" },
        ...groups.map((group) => { const mine = sizes.filter((/** @type {any} */ one) => one.group === group); return h("details", { open: Boolean(form.filter) || form.unfolded.has(group), ontoggle: (/** @type {any} */ e) => { if (!form.filter) form.unfolded[e.target.open ? "add" : "delete"](group); } }, h("summary", { id: `group-${group}` }, `${group}, ${mine.length}`), ...mine.map(row)); }),
        sizes.length ? "" : h("p", { class: "soft", style: { padding: "8px" } }, "Nothing of these words. Type its length below."))),
    form.size?.note ? h("p", { class: "soft" }, `Meant is ${form.size.note}.`) : "",
    isDoor ? h("p", { class: "offer" }, icon("next"), form.size?.door_face ? `${DOOR_FACES[/** @type {keyof typeof DOOR_FACES} */ (form.size.door_face)] ?? ""} Mixing leaf, frame and opening is 5 to 10 % wrong.` : Object.values(DOOR_FACES).join(" ")) : "",
    form.size?.kind === "courses"
      ? h("div", { class: "stack" }, named("Courses between the two picks", askedField({ id: "known-count", inputmode: "numeric", value: form.count, ondone: (/** @type {string} */ t) => { form.count = t; isCount("known-count", t); } })), refusalOf("known-count"), h("p", { class: "soft" }, "Count from one bed joint to another. Twelve courses are a far better ruler than one."))
      : form.size ? "" : h("div", { class: "stack" }, h("div", { class: "two" },
        named("Or type a length", askedField({ id: "known-length", onkeydown: onEnter, value: form.typed, placeholder: "2.03 m, 6ft 8in", ondone: (/** @type {string} */ t) => { form.typed = t; actions.readLength(t, "known-length"); } })),
        named("±", askedField({ id: "known-u", onkeydown: onEnter, value: form.plusMinus, placeholder: "5 mm", title: "How far the real thing may differ from this length", ondone: (/** @type {string} */ t) => { form.plusMinus = t; actions.readLength(t, "known-u"); } }))),
        refusalOf("known-length"), refusalOf("known-u")),
    form.size?.kind === "courses" ? "" : named("It runs", h("select", { id: "known-along", onchange: (/** @type {any} */ e) => { form.along = e.target.value; } },
      ...Object.entries({ free: "from pick to pick", level: "level only", plumb: "plumb only" }).map(([id, word]) => h("option", { value: id, selected: form.along === id }, word)))),
    h("button", { id: "known-pick", type: "button", class: "main", onclick: go }, "Pick its two ends"),
  ];

  /** @param {any} one known size of the catalogue */
  function row(one) {
    return h("button", {
      id: `size-${one.key}`, type: "button", "aria-pressed": String(form.size?.key === one.key), title: `${one.note} (${one.source})`,
      onclick: () => { form.size = form.size?.key === one.key ? null : one; form.along = form.size?.along ?? "free"; form.typed = ""; redraw(); },
    }, h("span", {}, one.name), h("span", { class: "soft" }, trueSizeText(one.kind === "courses" ? one.gauge_mm : one.length_mm, one.kind === "courses" ? one.u_gauge_mm : one.u_mm, store.state.unit)));
  }

  /** Enter takes what is typed and goes on to the picks. @param {KeyboardEvent} event */
  function onEnter(event) {
    const { id, value } = /** @type {HTMLInputElement} */ (event.target);
    if (event.key !== "Enter" || !value.trim()) return;
    form[id === "known-u" ? "plusMinus" : "typed"] = value.trim();
    go();
  }

  async function go() {
    if (form.size?.kind === "courses") {
      if (!isCount("known-count", form.count)) return;
      bench.take("references", "courses", { count: Number(form.count), gauge_mm: form.size.gauge_mm, u_gauge_mm: form.size.u_gauge_mm, label: form.size.name, size: form.size.size });
    } else if (form.size) {
      bench.take("references", "length", { length_mm: form.size.length_mm, u_mm: form.size.u_mm, label: form.size.name, size: form.size.size, along: form.along });
    } else {
      if (!form.typed) { refuse("known-length", "", "Choose a size above, or type its length."); return; }
      await actions.readLength(form.typed, "known-length", async (length_mm) => {
        if (length_mm == null) return;
        const begin = (/** @type {number | null} */ u_mm) => bench.take("references", "length", { length_mm, u_mm: u_mm ?? Math.max(1, Math.round(length_mm * 0.003)), label: form.typed, along: form.along });
        if (form.plusMinus) await actions.readLength(form.plusMinus, "known-u", begin);
        else begin(null);
      });
    }
  }
}

/** Whether a count of courses was typed; else it is said at its field. @param {string} id @param {string} text */
function isCount(id, text) {
  const ok = /^[1-9]\d{0,2}$/.test(text);
  if (!ok) refuse(id, text, "How many courses lie between the two picks? Type a whole number.");
  return ok;
}

/** @param {import("../main.js").Context} context @param {any} ref @param {number} i */
function referenceRow(context, ref, i) {
  const { bench, store } = context;
  const face = faceOf(context);
  const path = ["faces", `@${face.id}`, "references", i];
  const text = ref.kind === "courses" ? `${ref.count} × ${plain(ref.gauge_mm, 1)} mm` : trueSizeText(ref.length_mm, ref.u_mm, store.state.unit);
  const odd = (store.state.answer?.page?.suspects ?? []).find((/** @type {any} */ one) => one.path.startsWith(`faces/@${face.id}/references/#${i}`));
  return h("div", { class: odd ? "item wrong-item" : "item" },
    h("div", { class: "grow" }, h("strong", {}, ref.label || "Known size"), h("br"), text, ref.kind === "length" && ref.along !== "free" && ref.along ? `, ${ref.along} only` : "", odd ? h("p", { class: "wrong" }, wrongSign(), odd.sentence) : "",
      ref.kind === "courses" ? [named("Courses", askedField({ id: `ref-count-${i}`, inputmode: "numeric", value: ref.count, ondone: (/** @type {string} */ t) => isCount(`ref-count-${i}`, t) && bench.edit("change count", setField(bench.doc(), path, "count", Number(t))) })), refusalOf(`ref-count-${i}`)] : ""),
    h("button", { id: `ref-off-${i}`, type: "button", class: "icon", title: "Remove this known size", "aria-label": `Remove ${ref.label || "known size"}`, onclick: () => bench.edit("remove known size", removeThing(bench.doc(), path)) }, icon("bin")));
}
