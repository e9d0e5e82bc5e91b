// Getting acts to the office. Nothing counts as delivered but a receipt that names the act.

import { asSent } from "./acts.js";
import { learn } from "./clock.js";
import { fetchPack, fetchPictures } from "./pack.js";
import { sendPhoto } from "./photos.js";

const BATCH = 50;
const BATCH_BYTES = 256 * 1024;
const WAITS_S = [5, 15, 45, 120, 300];
const SOON_MS = 2000;

/** Why something did not reach the office: "unreachable", "sign_in", "too_much", "full". */
export class NotDelivered extends Error {
  constructor(why, retryAfter = 0) {
    super(why);
    this.why = why;
    this.retryAfter = retryAfter;
  }
}

function token() {
  return document.cookie.match(/(?:^|; )(?:__Host-)?csrftoken=([^;]+)/)?.[1] ?? "";
}

/** One request that tells a real answer from everything that only looks like one. */
export async function ask(address, { method = "GET", body, headers = {}, timeout = 15_000 } = {}) {
  let answer;
  try {
    answer = await fetch(address, {
      method,
      body,
      headers: { Accept: "application/json", "X-CSRFToken": token(), ...headers },
      credentials: "same-origin",
      redirect: "manual",
      cache: "no-store",
      signal: AbortSignal.timeout(timeout),
    });
    const isJson = /^application\/(problem\+)?json/.test(answer.headers.get("Content-Type") ?? "");
    const told = isJson ? await answer.json() : null;
    if (answer.ok && told) return told;
    if (answer.status === 401 && told) throw Object.assign(new NotDelivered("sign_in"), { needsCode: told.type?.endsWith(":second-step") });
    if (answer.status === 403) throw new NotDelivered("token");
    if (answer.status === 413) throw new NotDelivered("too_much");
    if (answer.status === 507) throw new NotDelivered("full");
    if (told && answer.status >= 400 && answer.status < 500) throw Object.assign(new NotDelivered("refused"), { told });
    throw new NotDelivered("unreachable", Number(answer.headers.get("Retry-After")) || 0);
  } catch (error) {
    if (error instanceof NotDelivered) throw error;
    throw new NotDelivered("unreachable");
  }
}

export class Sender extends EventTarget {
  constructor(store) {
    super();
    this.store = store;
    this.state = "quiet";
    this.lastContact = null;
    this.progress = "";
    this.tries = 0;
    this.timer = null;
    this.batch = BATCH;
    this.person = null;
    this.wasLost = false;
  }

  say(state, progress = "") {
    this.state = state;
    this.progress = progress;
    this.dispatchEvent(new Event("state"));
  }

  /** Try soon, or now. */
  wake(delay = SOON_MS) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.run(), delay);
  }

  tap() {
    this.tries = 0;
    this.wake(0);
  }

  /** One round of sending. A lock sees to it that only one page of this phone sends. */
  run() {
    return navigator.locks.request("field-sender", { ifAvailable: true }, async (lock) => {
      if (!lock) return this.wake(10_000);
      try {
        await this.everything();
        this.tries = 0;
        this.say("level");
      } catch (error) {
        if (!(error instanceof NotDelivered)) {
          console.warn(error);
        }
        this.fail(error);
      }
    });
  }

  fail(error) {
    if (error.why === "sign_in") {
      this.needsCode = Boolean(error.needsCode);
      return this.say("sign_in");
    }
    if (error.why === "too_much") this.batch = Math.max(1, Math.floor(this.batch / 2));
    const wait = error.retryAfter || WAITS_S[Math.min(this.tries, WAITS_S.length - 1)];
    this.tries += 1;
    this.say(error.why === "full" ? "server_full" : "holding");
    this.wake(wait * 1000 * (0.8 + 0.4 * Math.random()));
  }

  async everything() {
    const hello = await this.hello();
    await this.acts();
    await this.photos();
    await this.round(hello.pack_version);
  }

  /** A form token may have run out: fetch a fresh one and try once more. */
  async post(address, body, more = {}) {
    const request = {
      method: "POST",
      body: JSON.stringify(body),
      headers: { "Content-Type": "application/json" },
      ...more,
    };
    return this.withToken(() => ask(address, request));
  }

  async withToken(attempt) {
    try {
      return await attempt();
    } catch (error) {
      if (error.why !== "token") throw error;
      await this.hello();
      try {
        return await attempt();
      } catch (again) {
        throw again.why === "token" ? new NotDelivered("unreachable") : again;
      }
    }
  }

  async hello() {
    const acts = await this.store.acts();
    const waiting = acts.filter((act) => !act.receipt).length;
    const photos = (await this.store.photos()).filter((photo) => photo.blob && !photo.sentAt && !photo.refused).length;
    const fresh = this.store.isFresh ? "&fresh=yes" : "";
    const sent = Date.now();
    const told = await ask(`/field/hello?phone=${this.store.phone}&waiting=${waiting}&photos=${photos}${fresh}`);
    await this.heard(told, sent);
    if (told.was_lost) {
      this.wasLost = true;
      await this.store.set("was_lost", true);
    }
    this.store.isFresh = false;
    const highest = Math.max(0, ...acts.filter((act) => act.receipt).map((act) => act.seq));
    if (told.known_seq < highest) await this.store.sendAgainAfter(told.known_seq);
    if (told.person) await this.greet(told.person);
    return told;
  }

  /** Who is signed in now. Somebody else sees only their own round; acts stay with who made them. */
  async greet(person) {
    const before = await this.store.get("person");
    if (before && before.id !== person.id) await this.store.dropPack();
    await this.store.set("person", person);
    this.person = person;
  }

  async heard(told, sent) {
    const offset = learn(await this.store.get("clock"), sent, Date.now(), told.server_time);
    await this.store.set("clock", offset);
    this.lastContact = Date.now();
    await this.store.set("contact", this.lastContact);
  }

  async acts() {
    for (;;) {
      const waiting = (await this.store.acts()).filter((act) => !act.receipt);
      if (!waiting.length) return;
      const batch = this.cut(waiting);
      const first = waiting[0];
      this.say("moving", `Sending ${batch.length} of ${waiting.length}`);
      const sent = Date.now();
      const body = {
        phone: this.store.phone,
        acts: batch.map(asSent),
        waiting: waiting.length - batch.length,
        photos: 0,
        oldest: waiting.length > batch.length ? first.at : null,
      };
      const told = await this.post("/field/acts", body, { headers: this.headers() });
      if (!Array.isArray(told.receipts)) throw new NotDelivered("unreachable");
      await this.store.receive(told.receipts);
      this.sentSomething = true;
      await this.heard(told, sent);
      const named = new Set(told.receipts.map((receipt) => receipt.id));
      if (!batch.some((act) => named.has(act.id))) throw new NotDelivered("unreachable");
      this.dispatchEvent(new Event("acts"));
    }
  }

  headers() {
    return { "Content-Type": "application/json" };
  }

  /** As many acts as one request should carry, in the order they were made. */
  cut(waiting) {
    const batch = [];
    let bytes = 0;
    for (const act of waiting.slice(0, this.batch)) {
      bytes += JSON.stringify(act).length;
      if (batch.length && bytes > BATCH_BYTES) break;
      batch.push(act);
    }
    return batch;
  }

  /** Pictures, one at a time, the smallest first; they never hold up acts. */
  async photos() {
    if (!this.mayUsePictures()) return;
    const waiting = (await this.store.photos()).filter((photo) => photo.blob && !photo.sentAt && !photo.refused);
    waiting.sort((one, two) => one.size - two.size);
    for (const [index, photo] of waiting.entries()) {
      this.say("pictures", `Jobs sent · ${waiting.length - index} pictures to go`);
      await this.withToken(() => sendPhoto(photo, this.store));
      this.dispatchEvent(new Event("acts"));
      if ((await this.store.acts()).some((act) => !act.receipt)) await this.acts();
    }
  }

  mayUsePictures() {
    const link = navigator.connection;
    return !link || this.picturesWanted || !(link.saveData || ["slow-2g", "2g"].includes(link.effectiveType));
  }

  async round(version) {
    const have = await this.store.pack();
    if (have?.version === version && !this.sentSomething) return;
    const pack = await fetchPack((address, body, more) => this.post(address, body, more), this.store);
    this.sentSomething = false;
    if (pack) {
      this.dispatchEvent(new Event("pack"));
      await fetchPictures(pack);
    }
  }
}
