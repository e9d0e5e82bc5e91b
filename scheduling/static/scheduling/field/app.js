// The field page: reads the phone's disk, shows a page by the address after #, keeps acts, and wakes the sender.

import { makeAct } from "./acts.js";
import { complain, field, h } from "./dom.js";
import { hasRoom } from "./photos.js";
import { Sender } from "./sender.js";
import { band, judge } from "./status.js";
import { closePage, findStop, stopPage } from "./stop.js";
import { openStore } from "./store.js";
import { todayPage } from "./today.js";
import { jobRow, treePage } from "./tree.js";
import { waitingPage } from "./waiting.js";
import { minutes, clock as clockWords } from "./words.js";

const content = document.getElementById("content");
const statusLine = document.getElementById("status");
const door = document.getElementById("door");

class App {
  constructor(store) {
    this.store = store;
    this.sender = new Sender(store);
    this.acts = [];
    this.photos = [];
    this.addresses = new Map();
    this.tight = false;
    this.newWorker = null;
  }

  async start() {
    await this.read();
    this.tight = !(await hasRoom());
    this.isRisky = (await navigator.storage?.persist?.()) === false && /iPhone|iPad/.test(navigator.userAgent);
    this.isLost = Boolean(await this.store.get("was_lost"));
    this.sender.addEventListener("state", () => this.hear());
    this.sender.addEventListener("acts", () => this.read().then(() => this.refresh()));
    this.sender.addEventListener("pack", () => this.read().then(() => this.refresh({ isNewPack: true })));
    content.addEventListener("kept", () => this.refresh());
    addEventListener("hashchange", () => this.show());
    addEventListener("online", () => this.sender.tap());
    addEventListener("offline", () => this.showStatus());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.sender.wake(0));
    setInterval(() => this.pulse(), 60_000);
    this.show();
    await this.store.tidy();
    this.sender.wake(0);
    await this.keepWorker();
  }

  hear() {
    this.contact = this.sender.lastContact ?? this.contact;
    this.person = this.sender.person ?? this.person;
    this.isLost ||= this.sender.wasLost;
    this.showStatus();
  }

  async read() {
    [this.acts, this.photos, this.pack, this.person, this.contact] = await Promise.all([
      this.store.acts(),
      this.store.photos(),
      this.store.pack(),
      this.store.get("person"),
      this.store.get("contact"),
    ]);
  }

  today() {
    return new Date().toLocaleDateString("sv-SE");
  }

  /** Keep one act. It is safe when this returns; the sender follows by itself. */
  async say(what, photo = null) {
    // The clock may have been set since the page was opened: the newest measurement counts.
    const clock = await this.store.get("clock");
    return this.keep(makeAct(what, { person: this.person?.id ?? this.pack.person.id, clock, pack: this.pack }), photo);
  }

  async keep(act, photo = null) {
    try {
      const kept = await this.store.add(act, photo);
      this.acts.push(kept);
      if (photo) this.photos.push(photo);
    } catch (error) {
      if (photo) throw error;
      this.alarm(error);
      return null;
    }
    navigator.vibrate?.(30);
    this.refresh({ taskId: act.task });
    this.sender.wake();
    this.askForSync();
    return act;
  }

  alarm(error) {
    const words = error.name === "QuotaExceededError" ? "This phone is full: that was NOT kept. Delete pictures or apps, then do it again." : `That was NOT kept (${error.name}). Do it again, or write it on paper.`;
    content.prepend(h("p", { class: "alarm", role: "alert" }, `✕ ${words}`));
    scrollTo(0, 0);
  }

  withdraw(stop, { id, task = null }) {
    return this.say({ kind: "withdraws", stop, more: { withdraws: id, task } });
  }

  /** Send a refused act again, put right, under an identity of its own. */
  async repair(act, value) {
    const { seq, receipt, receivedAt, settled, ...rest } = act;
    await this.store.change(seq, { settled: "repaired" });
    act.settled = "repaired";
    await this.keep({ ...rest, id: crypto.randomUUID(), repairs: act.id, value, receipt: null });
  }

  async leave(act) {
    await this.store.change(act.seq, { settled: "left" });
    act.settled = "left";
    this.refresh();
  }

  address(digest, blob) {
    if (!this.addresses.has(digest)) this.addresses.set(digest, URL.createObjectURL(blob));
    return this.addresses.get(digest);
  }

  setTight(isTight) {
    this.tight = isTight;
    this.showStatus();
  }

  askForSync() {
    navigator.serviceWorker?.ready.then((registration) => registration.sync?.register("send")).catch(() => undefined);
  }

  // Showing

  show() {
    const parts = location.hash.slice(2).split("/").filter(Boolean).map(decodeURIComponent);
    const stop = parts[0] === "stop" ? findStop(this, parts[1]) : null;
    const tree = stop && parts[2] === "tree" ? stop.trees.find((one) => one.key === parts[3]) : null;
    this.place = { stop, tree };
    let page;
    if (parts[0] === "send") page = waitingPage(this);
    else if (tree) page = treePage(this, stop, tree);
    else if (stop && parts[2] === "close") page = closePage(this, stop);
    else if (stop) page = stopPage(this, stop);
    else if (parts[0] === "stop") page = gonePage();
    else page = todayPage(this);
    content.replaceChildren(page);
    document.title = `${content.querySelector("h1")?.textContent ?? "On the round"} – On the round`;
    this.shown = location.hash;
    this.showStatus();
    scrollTo(0, 0);
    if (this.hasShown) content.focus({ preventScroll: true });
    this.hasShown = true;
  }

  /** After a tick only its row changes; after anything else the page is built again, unless somebody is typing. */
  refresh({ taskId = null, isNewPack = false } = {}) {
    this.showStatus();
    const row = taskId && content.querySelector(`[data-task="${taskId}"]`);
    const { stop, tree } = this.place;
    const task = tree?.tasks.find((one) => one.id === taskId);
    if (row && task && !isNewPack) {
      const fresh = jobRow(this, stop, tree, task);
      row.replaceWith(fresh);
      fresh.querySelector("button")?.focus({ preventScroll: true });
      return;
    }
    if (this.isBusy()) return;
    const [top, focus] = [scrollY, document.activeElement?.textContent];
    this.show();
    scrollTo(0, top);
    if (focus) [...content.querySelectorAll("button, a, summary")].find((one) => one.textContent === focus)?.focus({ preventScroll: true });
  }

  /** Somebody is in the middle of something that a new page would tear away. */
  isBusy() {
    const typed = [...content.querySelectorAll("input:not([type=file]), textarea")].some((one) => one.value && one.value !== one.defaultValue && one.type !== "number");
    return typed || Boolean(content.querySelector(".measure, .drawer[open]")) || location.hash.endsWith("/close");
  }

  showStatus() {
    const judged = judge({ ...this, newVersion: Boolean(this.newWorker) });
    const key = JSON.stringify(judged);
    if (key === this.judged) return;
    this.judged = key;
    statusLine.replaceChildren(band(judged, (name) => this.act(name)));
  }

  act(name) {
    if (name === "send") this.sender.tap();
    if (name === "see") location.hash = "#/send";
    if (name === "understood") this.forgive();
    if (name === "ring") location.href = `tel:${(this.pack?.business.phone ?? "").replaceAll(" ", "")}`;
    if (name === "switch") this.newWorker?.postMessage("switch");
    if (name === "sign_in") this.openDoor();
  }

  async forgive() {
    this.isLost = this.sender.wasLost = false;
    await this.store.set("was_lost", false);
    this.showStatus();
  }

  pulse() {
    for (const line of content.querySelectorAll("[data-timer]")) {
      const from = new Date(line.dataset.timer);
      line.textContent = `On site since ${clockWords(from)} · ${minutes((Date.now() - from) / 60_000)}`;
    }
    this.showStatus();
    if (document.visibilityState === "visible" && this.sender.state !== "sign_in") this.sender.wake(0);
  }

  // Signing in without leaving the page

  openDoor() {
    if (this.sender.needsCode) return this.openSecondDoor();
    const name = h("input", { type: "text", autocomplete: "username", autocapitalize: "none" });
    const secret = h("input", { type: "password", autocomplete: "current-password" });
    const box = h("div", {});
    const form = h("form", { class: "door", novalidate: true, onsubmit: (event) => this.signIn(event, name, secret, box) }, h("h2", {}, "Sign in to send"), box, field("Sign-in name", name), field("Password", secret), h("button", { type: "submit", class: "button is-main" }, "Sign in"), h("button", { type: "button", class: "button is-wide", onclick: () => door.replaceChildren() }, "Later"));
    door.replaceChildren(form);
    name.focus();
  }

  /** The password is given; the code is asked for on a page of its own, which leads back here. */
  openSecondDoor() {
    door.replaceChildren(h("div", { class: "door" }, h("h2", {}, "One more step"), h("p", {}, "Your second factor is needed to send. Your work stays on this phone."), h("a", { class: "button is-main", href: "/sign-in/?next=/field/" }, "Go on"), h("button", { type: "button", class: "button is-wide", onclick: () => door.replaceChildren() }, "Later")));
  }

  async signIn(event, name, secret, box) {
    event.preventDefault();
    try {
      const page = await fetch("/sign-in/", { credentials: "same-origin", cache: "no-store", signal: AbortSignal.timeout(15_000) });
      const found = new DOMParser().parseFromString(await page.text(), "text/html").querySelector("[name=csrfmiddlewaretoken]");
      const body = new URLSearchParams({ username: name.value.trim(), password: secret.value, csrfmiddlewaretoken: found?.value ?? "", next: "/field/" });
      const answer = await fetch("/sign-in/", { method: "POST", body, credentials: "same-origin", redirect: "manual", signal: AbortSignal.timeout(15_000) });
      if (answer.type !== "opaqueredirect") {
        complain(box, answer.status === 429 ? "Too many tries. Wait a while, or ring the office." : "Name and password do not fit together. Check both.");
        secret.focus();
        return;
      }
    } catch {
      complain(box, "The office cannot be reached. Your work is safe on this phone; try again later.");
      return;
    }
    door.replaceChildren();
    this.sender.tap();
  }

  // The worker that keeps the page

  async keepWorker() {
    if (!("serviceWorker" in navigator)) return;
    navigator.serviceWorker.addEventListener("message", (event) => event.data === "send" && this.sender.wake(0));
    let isKept = Boolean(navigator.serviceWorker.controller);
    navigator.serviceWorker.addEventListener("controllerchange", () => {
      this.newWorker = null;
      this.showStatus();
      if (isKept && this.mayReload()) location.reload();
      isKept = true;
    });
    try {
      const registration = await navigator.serviceWorker.register("/sw.js", { scope: "/field/", updateViaCache: "none" });
      this.watch(registration);
    } catch {
      // Without a signal the worker that is there goes on.
    }
  }

  watch(registration) {
    const note = () => {
      if (registration.waiting && navigator.serviceWorker.controller) {
        this.newWorker = registration.waiting;
        this.showStatus();
      }
    };
    note();
    registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", note));
  }

  mayReload() {
    return this.acts.every((act) => act.receipt) && !this.isBusy();
  }
}

function gonePage() {
  return h("div", {}, h("a", { class: "back button", href: "#/" }, "← The day"), h("h1", {}, "This stop is no longer on your round"), h("p", { class: "lead" }, "The office moved it. What you wrote down about it is kept and sent."));
}

function helpless(words) {
  content.replaceChildren(h("h1", {}, "On the round"), h("p", { class: "alarm", role: "alert" }, `✕ ${words}`));
}

if (!window.isSecureContext) {
  helpless("This address is not secure (https), so the browser keeps nothing for the garden. Ask the office for the right address.");
} else {
  try {
    const app = new App(await openStore());
    await app.start();
  } catch (error) {
    console.error(error);
    helpless("This browser does not keep anything on the phone (a private window?). Use a usual window, or paper.");
  }
}
