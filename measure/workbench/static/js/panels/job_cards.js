// @ts-check
/** Parts of card: materials, faces, corners, printer, and the sheets laid out. Effect. */

import { h, named, textField } from "../dom.js";
import { askedField, refusalOf, refuse } from "../refusals.js";
import { CORNERS, LAYERS, addOwnSheet, cardOf, cutFace, setCard } from "../edits/card.js";
import { faceName } from "../face_kinds.js";
import { counted, plain, typedNumber } from "../format.js";
import { wrongSign } from "../icons.js";

/** What is typed for a sheet of one's own until it is added. */
const own = { name: "", stack: "", use: "carcass" };

/** @param {import("../main.js").Context} context @returns {any[]} */
export function cardsBody(context) {
  const { store, bench, cards } = context;
  const doc = bench.doc();
  const card = cardOf(doc);
  const { materials, busy, problem, told } = store.state.cards;
  if (materials === null) cards.materials();
  const change = (/** @type {string} */ field, /** @type {any} */ value, /** @type {string} */ name) => bench.edit(`choose ${name}`, setCard(bench.doc(), field, value));
  const listed = (/** @type {string} */ use) => [...(materials ?? [])].sort((a, b) => Number(b.use === use) - Number(a.use === use));
  const cuttable = doc.faces.filter((/** @type {any} */ f) => f.surface?.kind !== "roof").map((/** @type {any} */ f) => f.id);
  return [
    h("h3", {}, "Parts of card"),
    h("fieldset", {}, h("legend", {}, "Materials"), ...LAYERS.map(([use, name, hover, mayLack]) => [named(name, h("select", { id: `card-${use}`, title: hover, onchange: (/** @type {any} */ e) => change(use, e.target.value || null, name.toLowerCase()) },
      mayLack ? h("option", { value: "", selected: card[use] === null }, "none") : "",
      materials ? "" : h("option", { selected: true }, card[use] ?? "none"),
      ...listed(use).map((one) => h("option", { value: one.key, selected: one.key === card[use], title: one.note }, wordsOf(one))))), inFull((materials ?? []).filter((one) => one.key === card[use]).map(wordsOf)[0])])),
    ownSheet(context),
    faceTicks(context, card, cuttable),
    named("Corners", h("select", { id: "card-corner", onchange: (/** @type {any} */ e) => change("corner", e.target.value, "corners") }, ...Object.entries(CORNERS).map(([id, word]) => h("option", { value: id, selected: id === card.corner }, word)))), inFull(CORNERS[/** @type {keyof typeof CORNERS} */ (card.corner)]),
    h("label", { class: "tick-row" }, h("input", { type: "checkbox", id: "card-tabs", checked: card.tabs, onchange: (/** @type {any} */ e) => change("tabs", e.target.checked, "tabs") }), "Tabs to glue by"),
    h("label", { class: "tick-row" }, h("input", { type: "checkbox", id: "card-skins", checked: card.print_skins, onchange: (/** @type {any} */ e) => change("print_skins", e.target.checked, "printed skins") }), "Print the photo on the skins"),
    named("Paper", h("select", { id: "card-paper", onchange: (/** @type {any} */ e) => change("paper", e.target.value, "paper") }, ...(store.state.start?.papers ?? ["A4"]).map((/** @type {string} */ p) => h("option", { value: p, selected: p === card.paper }, p)))),
    bars(context, card),
    h("button", { id: "card-lay", type: "button", class: "main", disabled: busy !== "off", onclick: cards.lay }, "Lay out the sheets"),
    h("button", { id: "card-pack", type: "button", disabled: busy !== "off", title: "Sheets as PDF, SVG and DXF, a key, the cut list and the build order", onclick: cards.pack }, "Save all of it in one archive"),
    busy === "off" ? "" : h("div", { class: "row", role: "status" }, h("span", { class: "grow" }, busy === "laying" ? "Laying out the parts …" : "Writing the sheets …"), h("button", { id: "card-stop", type: "button", onclick: cards.stop }, "Stop")),
    problem ? h("p", { class: "wrong", role: "alert" }, wrongSign(), problem) : "",
    told ? h("p", {}, `${counted(told.parts, "part")}: ${told.materials.map((/** @type {any} */ m) => `${counted(m.sheets, "sheet")} of ${m.name}`).join(", ")}.`) : "",
    told?.cautions.length ? h("details", { open: told.cautions.length < 4 }, h("summary", {}, counted(told.cautions.length, "thing to mind", "things to mind")), h("ul", { class: "stack" }, ...told.cautions.map((/** @type {string} */ text) => h("li", { class: "offer" }, text)))) : "",
    told ? h("details", {}, h("summary", {}, "Build order"), h("p", { class: "soft", style: { whiteSpace: "pre-wrap" } }, told.build_order)) : "",
  ];
}

/** A material in a list. @param {any} one */
const wordsOf = (one) => `${one.name}, ${plain(one.thickness_mm, 2)} mm`;

/** What is chosen, where the margin is too narrow for all of its words. @param {string} [words] */
const inFull = (words) => (words && words.length > 22 ? h("p", { class: "soft" }, words) : "");

/** @param {import("../main.js").Context} context @param {any} card @param {string[]} all */
function faceTicks({ bench }, card, all) {
  if (all.length < 2) return "";
  const chosen = card.faces;
  return h("fieldset", {}, h("legend", {}, chosen.length ? "Faces to cut" : "Faces to cut: all that can be"), ...all.map((id) => h("label", { class: "tick-row" },
    h("input", { type: "checkbox", id: `card-face-${id}`, checked: !chosen.length || chosen.includes(id), onchange: (/** @type {any} */ e) => bench.edit("choose faces to cut", cutFace(bench.doc(), id, e.target.checked, all)) }),
    faceName(bench.doc(), id))));
}

/** @param {import("../main.js").Context} context */
function ownSheet({ bench, cards }) {
  const say = h("p", { class: "wrong", role: "alert", hidden: true });
  const add = () => {
    const stack_mm = typedNumber(own.stack, "mm");
    if (!own.name || !(stack_mm > 0 && stack_mm < 200)) {
      say.replaceChildren(wrongSign(), "Name the sheet, and type how thick a stack of ten is in millimetres.");
      say.hidden = false;
      return;
    }
    bench.edit("add a sheet of your own", addOwnSheet(bench.doc(), { name: own.name, stack_mm, sheets: 10, use: /** @type {any} */ (own.use) }));
    Object.assign(own, { name: "", stack: "" });
    cards.materials();
  };
  return h("details", {}, h("summary", {}, "A sheet of your own"), h("div", { class: "stack" },
    named("Name", textField({ id: "own-name", value: own.name, maxlength: 80, ondone: (/** @type {string} */ t) => { own.name = t; } })),
    h("div", { class: "two" },
      named("Stack of ten, mm", textField({ id: "own-stack", inputmode: "decimal", value: own.stack, placeholder: "3.0", ondone: (/** @type {string} */ t) => { own.stack = t; } })),
      named("Used as", h("select", { id: "own-use", onchange: (/** @type {any} */ e) => { own.use = e.target.value; } }, ...LAYERS.map(([use, name]) => h("option", { value: use, selected: use === own.use }, name.toLowerCase()))))),
    say, h("button", { id: "own-add", type: "button", onclick: add }, "Add it")));
}

/** @param {import("../main.js").Context} context @param {any} card */
function bars({ bench }, card) {
  const now = card.printed_bars;
  const set = (/** @type {"across_mm" | "up_mm"} */ side, /** @type {string} */ text) => {
    const mm = typedNumber(text, "mm");
    if (text && !(mm > 0)) { refuse(`bar-${side}`, text, "Type what the bar measures in millimetres, such as 149.6."); return; }
    const other = now ?? { bar_mm: 150, across_mm: 150, up_mm: 150 };
    bench.edit("correct the printer", setCard(bench.doc(), "printed_bars", text === "" ? null : { ...other, [side]: mm }));
  };
  return h("fieldset", {}, h("legend", { title: "Print a sheet uncorrected, lay a rule along its two 150 mm bars and type what they measure." }, "The 150 mm bars of a print measure"), h("div", { class: "two" },
    named("across", askedField({ id: "bar-across_mm", inputmode: "decimal", value: now ? `${now.across_mm}` : "", placeholder: "150", ondone: (/** @type {string} */ t) => set("across_mm", t) })),
    named("up", askedField({ id: "bar-up_mm", inputmode: "decimal", value: now ? `${now.up_mm}` : "", placeholder: "150", ondone: (/** @type {string} */ t) => set("up_mm", t) }))), refusalOf("bar-across_mm"), refusalOf("bar-up_mm"));
}
