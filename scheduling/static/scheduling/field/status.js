// The one line that says how this phone stands with the office: shape, words, and what may be done about it.

import { h } from "./dom.js";
import { clock, many } from "./words.js";

/** What to say: {shape, words, state, acts}. The gravest state comes first. */
export function judge({ sender, acts, photos, contact, tight, isRisky, isLost, newVersion }) {
  const waiting = acts.filter((act) => !act.receipt);
  const refused = acts.filter((act) => act.receipt?.result === "refused" && !act.settled);
  const pictures = photos.filter((photo) => photo.blob && !photo.sentAt && !photo.refused);
  const level = { shape: "●", words: `All sent · ${clock(contact)}`, state: "level", acts: [] };
  if (isLost) return { shape: "✕", words: "This phone lost its copy. Ring the office", state: "lost", acts: ["ring", "understood"] };
  if (sender.state === "sign_in") {
    const words = waiting.length ? `Sign in to send ${waiting.length}` : "Sign in to get the round";
    return { shape: "■", words, state: "sign_in", acts: ["sign_in"] };
  }
  if (refused.length) {
    return { shape: "✕", words: `${refused.length} ${refused.length === 1 ? "needs" : "need"} a second look`, state: "refused", acts: ["see"] };
  }
  if (sender.state === "moving" || sender.state === "pictures") {
    return { shape: "▶", words: sender.progress, state: sender.state, acts: [] };
  }
  if (tight) return { shape: "▲", words: "Phone nearly full: pictures off", state: "tight", acts: ["see"] };
  if (waiting.length) {
    const words = `${waiting.length} on this phone, not sent yet · oldest ${clock(waiting[0].at)}`;
    return { shape: "▲", words, state: "holding", acts: ["send"] };
  }
  if (pictures.length) {
    return { shape: "▶", words: `Jobs sent · ${many(pictures.length, "picture")} to go`, state: "pictures", acts: ["send"] };
  }
  if (newVersion) return { shape: "○", words: "New version ready", state: "renewed", acts: ["switch"] };
  if (isRisky) return { shape: "▲", words: "This browser may forget: add it to the Home Screen", state: "risky", acts: [] };
  const isRecent = contact && Date.now() - contact < 15 * 60_000 && sender.state === "level";
  return isRecent ? level : { shape: "○", words: `No signal · all sent at ${clock(contact)}`, state: "quiet", acts: [] };
}

const BUTTONS = { send: "Send now", sign_in: "Sign in", see: "See why", switch: "Switch now", ring: "Ring", understood: "Understood" };

export function band(judged, act) {
  return h(
    "div",
    { class: `band is-${judged.state}` },
    h("p", {}, h("span", { class: "shape", "aria-hidden": "true" }, judged.shape), h("span", {}, judged.words)),
    judged.acts.map((name) => h("button", { type: "button", class: "button", onclick: () => act(name) }, BUTTONS[name])),
  );
}
