// @ts-check
/** What the program offers: lines for the checks, openings for the measures. Effect. */

import { h } from "../dom.js";
import { countFound, dropGuides } from "../edits/offers.js";
import { counted, plain, trueSize } from "../format.js";
import { icon, wrongSign } from "../icons.js";

/** @param {import("../main.js").Context} context @param {string} photo @returns {any[]} */
export function guidesOffer({ store, bench, offers }, photo) {
  const now = store.state.offers;
  const kept = countFound(bench.doc(), photo);
  const mine = now.what === "guides";
  const told = mine ? now.told : null;
  return [
    mine && now.busy ? h("div", { class: "row", role: "status" }, h("span", { class: "grow" }, "Looking for guides in the photo …"), h("button", { id: "guides-stop", type: "button", onclick: offers.clear }, "Stop"))
      : h("button", { id: "guides-find", type: "button", title: "Level and plumb edges in the photo itself hold the camera better than picks by hand", onclick: () => offers.find("guides") }, kept ? "Find guides in the photo again" : "Find guides in the photo"),
    mine && now.problem ? h("p", { class: "wrong", role: "alert" }, wrongSign(), now.problem) : "",
    told && told.count ? h("div", { class: "item stacked offered" }, h("p", { class: "offer" }, icon("next"), h("span", {}, told.sentence)),
      told.before && told.after ? h("p", { class: "soft" }, `The far end is good to ±${plain(told.before.u_far_per_cent, 2)} % now, to ±${plain(told.after.u_far_per_cent, 2)} % with them.`) : "",
      h("div", { class: "row" }, h("button", { id: "guides-keep", type: "button", class: "main", onclick: offers.keepGuides }, "Keep them"), h("button", { id: "guides-drop", type: "button", onclick: offers.clear }, "Drop them"))) : "",
    told && !told.count ? h("p", { class: "offer" }, icon("next"), told.sentence || "No guides were found that would help.") : "",
    kept ? h("div", { class: "item" }, h("span", { class: "grow" }, `${counted(kept, "guide")} found in the photo`), h("button", { id: "guides-off", type: "button", class: "icon", title: "Take all found guides out again", "aria-label": "Take all found guides out again", onclick: () => bench.edit("drop found guides", dropGuides(bench.doc(), photo)) }, icon("bin"))) : "",
  ];
}

/** @param {import("../main.js").Context} context @param {any} face @returns {any} */
export function openingsOffer({ store, offers, sheets }, face) {
  const now = store.state.offers;
  const mine = now.what === "openings" && now.face === face?.id;
  const solved = store.state.answer?.page?.faces?.[face?.id]?.solved;
  if (!solved && !mine) return "";
  if (mine && now.busy) return h("div", { class: "offers row", role: "status" }, h("span", { class: "grow" }, "Looking for openings …"), h("button", { id: "openings-stop", type: "button", onclick: offers.clear }, "Stop"));
  const told = mine ? now.told : null;
  const find = h("button", { id: "openings-find", type: "button", onclick: () => offers.find("openings"), title: "Proposes doors and windows that the wall seems to have; you keep or drop each" }, "Find openings on this wall");
  if (!told) return h("div", { class: "offers" }, find, mine && now.problem ? h("p", { class: "wrong", role: "alert" }, wrongSign(), now.problem) : "");
  const all = told.proposals.map((/** @type {any} */ _, /** @type {number} */ i) => i);
  if (!all.length) return h("div", { class: "offers" }, find, h("p", { class: "offer" }, icon("next"), "No further openings were found. Pick them by hand."));
  return h("div", { class: "offers" },
    h("p", { class: "offer" }, icon("next"), h("span", {}, `${counted(all.length, "opening")} proposed, dashed on the sheets. Look at each before you keep it.`)),
    h("div", { class: "row" }, h("button", { id: "openings-keep", type: "button", class: "main", onclick: () => offers.keepOpenings(all) }, "Keep all"), h("button", { id: "openings-drop", type: "button", onclick: offers.clear }, "Drop all")),
    h("ul", { class: "stack", id: "proposals", "data-keeps-scroll": true }, ...told.proposals.map((/** @type {any} */ one, /** @type {number} */ i) => {
      const [u0, v0, u1, v1] = one.box_mm;
      const name = told.scaled ? [u1 - u0, v1 - v0].map((mm) => trueSize(mm, 10, store.state.unit).value).join(" × ") : `Opening ${i + 1}`;
      return h("li", { class: "row tight" }, h("button", { id: `proposal-show-${i}`, type: "button", class: "link grow", onclick: () => sheets?.bring(one.opening.at, [(u0 + u1) / 2, -(v0 + v1) / 2]) }, `${name}${one.opening.head === "flat" ? "" : `, ${one.opening.head} head`}`),
        h("button", { id: `proposal-keep-${i}`, type: "button", class: "icon", title: "Keep this one", "aria-label": `Keep the opening of ${name}`, onclick: () => offers.keepOpenings([i]) }, icon("tick")),
        h("button", { id: `proposal-drop-${i}`, type: "button", class: "icon", title: "Drop this one", "aria-label": `Drop the opening of ${name}`, onclick: () => offers.dropOpenings([i]) }, icon("cross")));
    })));
}
