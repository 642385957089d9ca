// @ts-check
/** Earlier versions of the survey file, in the right margin. Effect. */

import { h } from "../dom.js";
import { agoText, bytesText } from "../format.js";
import { icon } from "../icons.js";

/** @param {import("../main.js").Context} context */
export function versionsList({ store, actions }) {
  const { versions, saved } = store.state;
  if (versions === null) actions.listVersions();
  const off = saved.state === "elsewhere" || saved.state === "lost";
  return [
    h("header", {}, h("h2", {}, "Earlier versions"),
      h("button", { id: "close-versions", type: "button", class: "icon", title: "Back to the measures", "aria-label": "Back to the measures", onclick: () => store.set({ side: "sizes" }) }, icon("cross"))),
    h("div", { class: "empty" },
      h("p", { class: "soft" }, "The survey as it was before each change, the latest first; old ones are thinned out. Going back loses nothing: Undo brings you here again."),
      versions === null ? h("p", { role: "status" }, "Looking …") : versions.length === 0 ? h("p", {}, "None yet: nothing has been changed.") : "",
      h("ul", { class: "stack" }, ...(versions ?? []).map((/** @type {any} */ one) => h("li", { class: "row" },
        h("span", { class: "grow" }, agoText(one.seconds_ago), h("span", { class: "soft small" }, `, ${bytesText(one.bytes)}`)),
        h("button", { id: `version-${one.name}`, type: "button", disabled: off, "aria-label": `Go back to the version saved ${agoText(one.seconds_ago)}`, onclick: () => actions.goBackTo(one.name) }, "Go back to this"))))),
  ];
}
