// @ts-check
/** The sheets of card in place of photo and wall: one at a time, as they will be printed; parts can be moved. Effect. */

import { h, s, fill } from "../dom.js";
import { cardOf } from "../edits/card.js";
import { leaveOut, letAllGo, letGo, nameOf, onlyLayingDiffers, pinAll, pinPart, putBack, sheetsOf, sizeOf } from "../edits/pins.js";
import { counted } from "../format.js";
import { icon, wrongSign } from "../icons.js";
import { workOnCards } from "../tools/on_cards.js";

/** @typedef {import("../edits/pins.js").LaidPart} LaidPart */

const HOW = "Drag a part to where it is to lie, or onto another sheet below; the rest is laid around it.";

/** @param {import("../main.js").Context} context @param {HTMLElement} work */
export function mountCardSheets({ store, bench, cards }, work) {
  const bar = h("div", { class: "hand" });
  const stage = /** @type {SVGSVGElement} */ (s("svg", { class: "card-stage", role: "group" }));
  const flat = h("img", {});
  const figure = h("figure", {}, stage, flat);
  const strip = h("div", { class: "card-strip", role: "group", "aria-label": "All sheets" });
  const el = h("section", { class: "card-view", "aria-label": "Sheets of card", hidden: true }, bar, figure, strip);
  work.append(el);
  /** @type {Map<any, string>} pictures of sheets, by sheet */
  const hrefs = new Map();
  /** @type {import("../tools/on_cards.js").Lifted | null} */
  let lifted = null;
  let said = "";
  let chosen = "";
  let atSize = false;
  /** @type {any} */
  let drawn = null;
  /** @type {any} */
  let stripOf = null;

  const told = () => store.state.cards.told;
  const shown = () => lifted?.sheet ?? told().sheets[store.state.cards.at];
  const hand = workOnCards({
    stage, strip, told, shown,
    toSheet([x, y]) {
      const box = /** @type {SVGGElement | null} */ (stage.querySelector(".room"))?.getScreenCTM();
      if (!box) return null;
      const p = new DOMPoint(x, y).matrixTransform(box.inverse());
      return [p.x, p.y];
    },
    show(next, say = "") { lifted = next; said = say; draw(); },
    keep(part, sheet) {
      chosen = nameOf(part);
      bench.edit(`place part ${part.mark}`, pinPart(bench.doc(), part, sheet.number));
    },
    release,
    leave,
    choose(name) {
      if (name !== chosen) {
        chosen = name;
        said = "";
        // the parts stay the same elements: a finger that is down on one keeps it
        for (const node of stage.querySelectorAll("[data-part]")) node.classList.toggle("chosen", node.getAttribute("data-part") === chosen);
        drawBar(shown());
      }
      focusPart();
    },
  });

  store.on((st) => [st.cards, st.place, st.history && bench.doc()], (st) => {
    const { told: now, open, doc, busy } = st.cards;
    const was = el.hidden;
    el.hidden = !(st.place === "bench" && open && now);
    if (el.hidden) { if (!was && st.place === "bench") takeFocus("card-lay"); return; }
    if (was) queueMicrotask(() => takeFocus("card-sheet"));
    if (now !== drawn) {
      for (const href of hrefs.values()) URL.revokeObjectURL(href);
      hrefs.clear();
      drawn = now;
      lifted = null;
      const holding = now.sheets.findIndex((/** @type {any} */ sheet) => sheet.parts.some((/** @type {LaidPart} */ part) => nameOf(part) === chosen && part.pinned));
      if (holding > 0 && holding !== st.cards.at) { cards.change({ at: holding }); return; }
    }
    if (busy === "off" && lifted?.put && st.cards.problem) lifted = null;
    draw();
    if (busy === "off" && doc !== bench.doc() && onlyLayingDiffers(doc, bench.doc()) && !st.cards.problem) queueMicrotask(cards.lay);
  });
  // any other view puts the sheets away
  store.on((st) => [st.layout, st.drawing, st.run, st.map], (st) => { if (st.cards.open) cards.change({ open: false }); });

  /** @param {any} sheet @returns {string} */
  function hrefOf(sheet) {
    if (!hrefs.has(sheet)) hrefs.set(sheet, URL.createObjectURL(new Blob([sheet.svg], { type: "image/svg+xml" })));
    return /** @type {string} */ (hrefs.get(sheet));
  }

  function draw() {
    const sheet = shown();
    drawBar(sheet);
    drawStrip(sheet);
    const parts = Boolean(sheet.material);
    stage.toggleAttribute("hidden", !parts);
    flat.hidden = parts;
    figure.classList.toggle("at-size", atSize && parts);
    if (!parts) { flat.setAttribute("src", hrefOf(sheet)); flat.setAttribute("alt", `${sheet.name}, as it will be built`); return; }
    drawStage(sheet);
  }

  /** @param {any} sheet */
  function drawStage(sheet) {
    const [w, hh] = sheet.paper_mm;
    const [across, up] = told().correction;
    const [x, y] = sheet.area_mm;
    const focused = document.activeElement?.closest?.("[data-part]") && stage.contains(document.activeElement);
    stage.setAttribute("viewBox", `0 0 ${w} ${hh}`);
    stage.setAttribute("aria-label", `${sheet.name}, as it will be printed`);
    Object.assign(stage.style, atSize ? { width: `${w}mm`, height: `${hh}mm` } : { width: "", height: "" });
    const name = lifted && nameOf(lifted.part);
    const parts = [...sheet.parts.filter((/** @type {LaidPart} */ part) => nameOf(part) !== name), ...(lifted ? [lifted.part] : [])];
    const middle = [w / 2, hh / 2];
    const gone = lifted && told().sheets[store.state.cards.at] === sheet ? sheet.parts.find((/** @type {LaidPart} */ part) => nameOf(part) === name) : null;
    // the frame of places: millimetres of the free area, y up, stretched as the print is corrected
    stage.replaceChildren(
      s("rect", { width: w, height: hh, class: "paper" }),
      sheet.svg ? s("image", { href: hrefOf(sheet), width: w, height: hh }) : "",
      s("g", { class: "room", transform: `translate(${middle[0]} ${middle[1]}) scale(${across} ${-up}) translate(${x - middle[0]} ${y - middle[1]})` },
        s("rect", { class: "area", width: sheet.area_mm[2], height: sheet.area_mm[3] }),
        gone ? s("path", { class: "gone", d: outlineOf(gone) }) : "",
        ...parts.map(partShape)));
    if (focused && chosen) focusPart();
  }

  /** @param {LaidPart} part */
  function release(part) { bench.edit(`unpin part ${part.mark}`, letGo(bench.doc(), part)); }

  /** @param {LaidPart} part */
  function leave(part) {
    chosen = "";
    bench.edit(`leave part ${part.mark} out`, leaveOut(bench.doc(), part));
  }

  /** The keys go on where the sheets were asked for, or where they are: what had them is gone. @param {string} id */
  function takeFocus(id) { if (document.activeElement === document.body || !document.activeElement?.isConnected || el.contains(document.activeElement)) document.getElementById(id)?.focus(); }

  function focusPart() {
    const node = /** @type {SVGElement | null} */ (stage.querySelector(`[data-part="${CSS.escape(chosen)}"]`));
    if (node && node !== document.activeElement) node.focus({ preventScroll: true });
  }

  /** @param {LaidPart} part */
  const outlineOf = (part) => part.outline_mm.map((ring) => `M${ring.map(([px, py]) => `${(px + part.left_mm).toFixed(2)} ${(py + part.bottom_mm).toFixed(2)}`).join("L")}Z`).join("");

  /** @param {LaidPart} part */
  function partShape(part) {
    const isLifted = lifted !== null && nameOf(lifted.part) === nameOf(part);
    const isChosen = nameOf(part) === chosen;
    const pinned = part.pinned || Boolean(isLifted && lifted?.put);
    const kind = `part ${pinned ? "pinned" : ""} ${isChosen ? "chosen" : ""} ${isLifted ? "lifted" : ""} ${isLifted && lifted?.fault ? "bad" : ""}`;
    const { width, height } = sizeOf(part);
    // the sign stands at the corner of the outline that is nearest to the upper left of its box
    const [px, py] = part.outline_mm.flat().reduce((best, p) => (p[0] - p[1] < best[0] - best[1] ? p : best));
    const state = isLifted && lifted?.fault ? `, ${lifted.fault}` : part.pinned ? ", pinned" : "";
    return s("g", { class: kind, "data-part": nameOf(part), tabindex: "0", role: "button", "aria-pressed": String(pinned), "aria-label": `Part ${part.mark}, ${part.name}${state}. Arrows move it, T turns it, Page Up and Page Down change the sheet, Enter puts it down, O leaves it out.` },
      s("path", { d: outlineOf(part), "vector-effect": "non-scaling-stroke" }),
      isLifted ? s("text", { class: "carried", transform: `translate(${part.left_mm + width / 2} ${part.bottom_mm + height / 2}) scale(1 -1)` }, part.mark) : "",
      part.pinned || isLifted ? s("g", { class: "pin", transform: `translate(${part.left_mm + px + 1.6} ${part.bottom_mm + py - 1.6}) scale(1 -1)` }, s("rect", { x: -1.6, y: -1.6, width: 3.2, height: 3.2 }), isLifted && lifted?.fault ? s("path", { d: "M0 -1.1V0.3M0 0.8V1.2" }) : s("path", { d: "M-0.9 0L-0.2 0.8L1 -0.8" })) : "");
  }

  /** @param {any} sheet */
  function drawBar(sheet) {
    const { at, doc, busy, problem } = store.state.cards;
    const all = told().sheets;
    const go = (/** @type {number} */ to) => { hand.giveUp(); chosen = ""; cards.change({ at: (to + all.length) % all.length }); };
    const part = lifted?.part ?? sheet.parts.find((/** @type {LaidPart} */ one) => nameOf(one) === chosen);
    const pins = cardOf(bench.doc()).pinned.length;
    const wrong = lifted?.fault || problem;
    const words = wrong ? h("p", { class: "wrong", role: "status" }, wrongSign(), h("span", {}, wrong))
      : h("p", { role: "status" }, busy === "laying" ? "Laying the rest around it …" : said || (lifted ? "It may lie here. Loose parts make way." : "") || (doc !== bench.doc() ? "The survey has changed since: lay the sheets out again." : part ? `${part.mark} ${part.name}${part.pinned ? ", pinned here" : ""}` : sheet.material ? HOW : counted(told().parts, "part")));
    fill(bar,
      h("button", { id: "card-back", type: "button", "aria-label": "Sheet before", onclick: () => go(at - 1) }, "‹"),
      h("label", { class: "grow" }, h("span", { class: "unseen" }, "Sheet shown"), h("select", { id: "card-sheet", title: sheet.name, onchange: (/** @type {any} */ e) => go(Number(e.target.value)) }, ...all.map((/** @type {any} */ one, /** @type {number} */ i) => h("option", { value: i, selected: i === at }, one.name)))),
      h("button", { id: "card-on", type: "button", "aria-label": "Next sheet", onclick: () => go(at + 1) }, "›"),
      sheet.material ? h("button", { id: "card-size", type: "button", "aria-pressed": String(atSize), title: "As large as it prints, as far as the screen knows its own size: lay a rule along the bars", onclick: () => { atSize = !atSize; draw(); } }, "At print size") : "",
      h("button", { id: "card-close", type: "button", onclick: () => cards.change({ open: false }) }, icon("cross"), "Back to the wall"),
      // what is said and what can be done about it keep a line of their own: the sheet does not jump
      h("div", { class: "card-says" }, words,
        part && part.turns.length > 1 ? h("button", { id: "card-turn", type: "button", title: "Lay the part the other way round, as far as the grain of its card allows (T)", onclick: () => { hand.turn(part); hand.putDown(); } }, "Turn the part") : "",
        part?.pinned ? h("button", { id: "card-let-go", type: "button", title: "The program lays it where there is room (Delete)", onclick: () => release(part) }, "Unpin it") : "",
        part && !lifted ? h("button", { id: "card-leave-out", type: "button", title: "It is not cut (O)", onclick: () => leave(part) }, "Leave it out") : "",
        ...(part ? [] : cardOf(bench.doc()).left_out.map((/** @type {any} */ one) => h("button", { "data-put-back": one.mark, type: "button", title: `${one.mark} is left out`, onclick: () => bench.edit(`put part ${one.mark} back`, putBack(bench.doc(), one.mark)) }, `${one.mark}${one.copies > 1 ? ` (${one.copies})` : ""} left out: Put it back`))),
        !part && sheet.material ? h("button", { id: "card-pin-all", type: "button", title: "Every part stays where it lies now", onclick: () => bench.edit("pin all parts", pinAll(bench.doc(), all)) }, "Pin all here") : "",
        !part && pins ? h("button", { id: "card-let-all-go", type: "button", onclick: () => bench.edit("unpin all parts", letAllGo(bench.doc())) }, `Unpin all ${pins}`) : ""));
  }

  /** @param {any} sheet */
  function drawStrip(sheet) {
    const all = told().sheets;
    const further = lifted && !lifted.put ? sheetsOf(all, sheet.material).slice(-1) : [];
    const rows = [...all, ...further];
    // while a part is carried the small sheets stay the same elements: only their state is new
    if (stripOf !== all || strip.childElementCount !== rows.length) {
      stripOf = all;
      fill(strip, ...rows.map((one, i) => h("button", {
        id: `card-small-${i}`, type: "button", "data-sheet": one.material ? `${one.material}/${one.number}` : undefined, title: one.name, disabled: i >= all.length,
        onclick: () => { chosen = ""; cards.change({ at: i }); },
      }, one.svg ? h("img", { src: hrefOf(one), alt: "" }) : h("span", { class: "blank" }, "+"), h("span", { class: "unseen" }, one.name))));
    }
    rows.forEach((one, i) => {
      strip.children[i].setAttribute("aria-pressed", String(one.material === sheet.material && one.number === sheet.number));
      strip.children[i].className = lifted && one.material !== sheet.material ? "other" : "";
    });
  }
}
