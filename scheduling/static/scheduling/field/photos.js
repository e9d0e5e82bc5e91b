// Pictures: made small and upright on the phone, kept on its disk, sent in pieces that can be taken up again.

import { ask, NotDelivered } from "./sender.js";

const LONG_SIDE = 1600;
const THUMB_SIDE = 240;
const QUALITY = 0.8;
const PIECE = 128 * 1024;
const LARGEST = 15 * 1024 * 1024;
const NEAR_FULL_BYTES = 50 * 1024 * 1024;
const NEAR_FULL_SHARE = 0.8;

/** Is there room for pictures? Ticks always find room; pictures stop early. */
export async function hasRoom() {
  const { quota = 0, usage = 0 } = (await navigator.storage?.estimate?.()) ?? {};
  if (!quota) return true;
  return quota - usage > NEAR_FULL_BYTES && usage < quota * NEAR_FULL_SHARE;
}

/** Turn upright, shrink, and drop everything the camera wrote into the file. */
export async function makePhoto(file) {
  let blob = file;
  let thumb = null;
  try {
    const image = await createImageBitmap(file, { imageOrientation: "from-image" });
    blob = await redrawn(image, LONG_SIDE, QUALITY);
    thumb = await redrawn(image, THUMB_SIDE, 0.7);
    image.close();
  } catch {
    // A kind this browser cannot read goes as it is; the server reads more kinds.
    if (file.size > LARGEST) throw new Error("This picture is too large to send. Take it again with the camera.");
  }
  const bytes = await blob.arrayBuffer();
  const found = await crypto.subtle.digest("SHA-256", bytes);
  const digest = [...new Uint8Array(found)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return { digest, blob, thumb, size: blob.size, sentAt: null, refused: null };
}

async function redrawn(image, side, quality) {
  const scale = Math.min(1, side / Math.max(image.width, image.height));
  const canvas = new OffscreenCanvas(Math.round(image.width * scale), Math.round(image.height * scale));
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  return canvas.convertToBlob({ type: "image/jpeg", quality });
}

/** Send what the office has not got yet, piece by piece. */
export async function sendPhoto(photo, store) {
  try {
    await sendPieces(photo);
    await store.photoSent(photo.digest, { sentAt: Date.now() });
  } catch (error) {
    if (error.why !== "refused") throw error;
    await store.photoSent(photo.digest, { refused: error.told?.detail || error.told?.title || "refused" });
  }
}

async function sendPieces(photo) {
  const address = `/field/photos/${photo.digest}`;
  let { have, is_here: isHere } = await ask(address);
  while (!isHere) {
    const piece = photo.blob.slice(have, have + PIECE);
    const told = await ask(address, {
      method: "PUT",
      body: piece,
      timeout: 20_000 + (piece.size / 20_000) * 1000,
      headers: {
        "Content-Type": "application/octet-stream",
        "Upload-Offset": String(have),
        "Upload-Length": String(photo.size),
      },
    });
    if (!told.is_here && told.have <= have) throw new NotDelivered("unreachable");
    ({ have, is_here: isHere } = told);
  }
}
