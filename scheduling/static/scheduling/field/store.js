// The phone's own disk. Acts are only ever added; a tick is safe once its transaction is complete.

import { openDB } from "./vendor/idb.js";

const NAME = "field-round";
const VERSION = 1;
const KEEP_MS = 7 * 24 * 3_600_000;
const KEEP_BLOB_MS = 24 * 3_600_000;

export async function openStore() {
  const db = await openDB(NAME, VERSION, {
    // Additive for ever: a later version adds stores, it never drops the outbox.
    upgrade(db) {
      if (!db.objectStoreNames.contains("meta")) db.createObjectStore("meta");
      if (!db.objectStoreNames.contains("acts")) db.createObjectStore("acts", { keyPath: "seq" });
      if (!db.objectStoreNames.contains("photos")) db.createObjectStore("photos", { keyPath: "digest" });
      if (!db.objectStoreNames.contains("pack")) db.createObjectStore("pack");
      if (!db.objectStoreNames.contains("drawings")) db.createObjectStore("drawings");
    },
    blocking(_current, _blocked, event) {
      event.target.close();
    },
  });
  const store = new Store(db);
  await store.meet();
  return store;
}

export class Store {
  constructor(db) {
    this.db = db;
    this.isFresh = false;
  }

  /** Who this phone is; a browser without an identity makes one and says that it is fresh. */
  async meet() {
    const tx = this.db.transaction("meta", "readwrite", { durability: "strict" });
    this.phone = await tx.store.get("phone");
    if (!this.phone) {
      this.phone = crypto.randomUUID();
      this.isFresh = true;
      await tx.store.put(this.phone, "phone");
      await tx.store.put(0, "seq");
    }
    await tx.done;
  }

  get(name) {
    return this.db.get("meta", name);
  }

  async set(name, value) {
    await this.db.put("meta", value, name);
  }

  /** Number and keep one act, with its photo if it has one, in one transaction that waits for the disk. */
  async add(act, photo = null) {
    const tx = this.db.transaction(["meta", "acts", "photos"], "readwrite", { durability: "strict" });
    try {
      const seq = ((await tx.objectStore("meta").get("seq")) ?? 0) + 1;
      const kept = { ...act, seq };
      tx.objectStore("meta").put(seq, "seq");
      tx.objectStore("acts").add(kept);
      if (photo) tx.objectStore("photos").put(photo);
      await tx.done;
      return kept;
    } catch (error) {
      await tx.done.catch(() => undefined);
      throw error;
    }
  }

  acts() {
    return this.db.getAll("acts");
  }

  /** Keep what the office answered to acts of ours. */
  async receive(receipts) {
    const byId = new Map(receipts.map((receipt) => [receipt.id, receipt]));
    const tx = this.db.transaction("acts", "readwrite", { durability: "strict" });
    for (const act of await tx.store.getAll()) {
      const receipt = byId.get(act.id);
      if (receipt) await tx.store.put({ ...act, receipt, receivedAt: Date.now() });
    }
    await tx.done;
  }

  async change(seq, values) {
    const tx = this.db.transaction("acts", "readwrite", { durability: "strict" });
    const act = await tx.store.get(seq);
    if (act) await tx.store.put({ ...act, ...values });
    await tx.done;
  }

  /** The office knows less than we were told (it was set back): everything it does not know goes out again. */
  async sendAgainAfter(seq) {
    const tx = this.db.transaction("acts", "readwrite", { durability: "strict" });
    for (const act of await tx.store.getAll()) {
      if (act.seq > seq && act.receipt) await tx.store.put({ ...act, receipt: null });
    }
    await tx.done;
  }

  /** Forget what was received a week ago, and pictures a day ago. */
  async tidy(now = Date.now()) {
    const tx = this.db.transaction(["acts", "photos"], "readwrite");
    for (const act of await tx.objectStore("acts").getAll()) {
      const isKept = !act.receipt || act.receipt.result === "refused" || now - act.receivedAt < KEEP_MS;
      if (!isKept) tx.objectStore("acts").delete(act.seq);
    }
    for (const photo of await tx.objectStore("photos").getAll()) {
      if (photo.sentAt && photo.blob && now - photo.sentAt > KEEP_BLOB_MS) {
        tx.objectStore("photos").put({ ...photo, blob: null });
      }
    }
    await tx.done;
  }

  photos() {
    return this.db.getAll("photos");
  }

  async photoSent(digest, values) {
    const photo = await this.db.get("photos", digest);
    if (photo) await this.db.put("photos", { ...photo, ...values });
  }

  pack() {
    return this.db.get("pack", "now");
  }

  drawings() {
    return this.db.getAllKeys("drawings");
  }

  async drawing(digest) {
    return (await this.db.get("drawings", digest)) ?? "";
  }

  /** Put a new round in the place of the old one: all of it or nothing. */
  async keepPack(pack) {
    const { drawings, ...rest } = pack;
    const used = new Set(rest.stops.flatMap((stop) => stop.trees.map((tree) => tree.drawing)));
    const tx = this.db.transaction(["pack", "drawings"], "readwrite", { durability: "strict" });
    const kept = tx.objectStore("drawings");
    for (const [digest, svg] of Object.entries(drawings)) kept.put(svg, digest);
    for (const digest of await kept.getAllKeys()) if (!used.has(digest)) kept.delete(digest);
    tx.objectStore("pack").put(rest, "now");
    await tx.done;
  }

  async dropPack() {
    const tx = this.db.transaction(["pack", "drawings"], "readwrite");
    tx.objectStore("pack").clear();
    tx.objectStore("drawings").clear();
    await tx.done;
  }
}
