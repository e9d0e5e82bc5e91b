// The day in order.

import { h } from "./dom.js";
import { progress } from "./fold.js";
import { day, many, minutes } from "./words.js";

const STATES = {
  planned: ["◐", "To do"],
  started: ["▶", "Under way"],
  finished: ["✓", "Finished"],
  called_off: ["✕", "Called off"],
};

export function todayPage(app) {
  const { pack, acts } = app;
  if (!pack) return emptyPage();
  const days = [...new Set(pack.stops.map((stop) => stop.on))].sort();
  const today = app.today();
  const rows = pack.stops.map((stop) => ({ stop, ...progress(stop, acts) }));
  const next = rows.find((row) => row.stop.on >= today && !["finished", "called_off"].includes(row.state));
  return h(
    "div",
    {},
    h("h1", {}, day(today)),
    pack.today !== today ? h("p", { class: "note" }, h("strong", {}, "▲ Mind: "), `this round was fetched on ${day(pack.today)}.`) : null,
    next ? nextCard(next, app) : h("p", { class: "lead" }, pack.stops.length ? "Every stop is done." : "No stops in these days."),
    days.map((on) =>
      h(
        "section",
        { class: "day" },
        h("h2", {}, on === today ? "Today" : day(on)),
        h("ol", { class: "rows" }, rows.filter((row) => row.stop.on === on).map((row) => stopRow(row))),
      ),
    ),
    h("a", { class: "button is-wide", href: "#/send" }, "What this phone holds"),
  );
}

function emptyPage() {
  return h(
    "div",
    {},
    h("h1", {}, "On the round"),
    h("p", { class: "lead" }, "This phone has no round yet. Go where there is a signal and sign in; from then on it works without one."),
    h("a", { class: "button is-wide", href: "#/send" }, "What this phone holds"),
  );
}

function nextCard({ stop, state, jobs, answered }, app) {
  const first = stop.trees.flatMap((tree) => tree.tasks)[0];
  return h(
    "section",
    { class: "next" },
    h("h2", {}, state === "started" ? `Under way: ${stop.site.name}` : `Next: ${stop.site.name}`),
    h("p", { class: "facts" }, [stop.arrives, stop.drive ? `drive ${minutes(stop.drive)}` : "", `${answered} of ${many(jobs, "job")}`].filter(Boolean).join(" · ")),
    first ? h("p", {}, `First: ${app.pack.words.kinds[first.kind] ?? first.kind}${stop.skills.length ? ` · needs ${stop.skills.join(", ")}` : ""}`) : null,
    h("a", { class: "button is-main", href: `#/stop/${stop.id}` }, state === "started" ? "Go on" : "Open the stop"),
  );
}

function stopRow({ stop, state, jobs, answered }) {
  const [shape, words] = STATES[state] ?? STATES.planned;
  return h(
    "li",
    { class: `row is-${state}` },
    h(
      "a",
      { href: `#/stop/${stop.id}` },
      h("span", { class: "shape", "aria-hidden": "true" }, shape),
      h(
        "span",
        { class: "row-words" },
        h("strong", {}, stop.site.name),
        h("span", {}, [stop.arrives, words, `${answered} of ${many(jobs, "job")}`].filter(Boolean).join(" · ")),
      ),
    ),
  );
}
