// Photos: made small when taken, named by their content, sent after the reports that show them.

import { asked, inTransaction } from "./store.js";

const LONGEST_SIDE = 1600;
const QUALITY = 0.8;
export const MOST_PHOTOS = 12;

/**
 * Makes a photo small, which also leaves its place and camera behind, and keeps it on the phone.
 * @param {Blob} file as the camera gave it
 * @returns {Promise<string>} its SHA-256
 */
export async function keepPhoto(db, file, now) {
  const bytes = await shrink(file);
  const sha = hex(await crypto.subtle.digest("SHA-256", bytes));
  await inTransaction(db, ["photos"], "readwrite", async ({ photos }) => {
    // The same picture taken into two reports is kept and sent once.
    if (!(await asked(photos.get(sha)))) photos.put({ sha, bytes, type: "image/jpeg", state: "draft", takenAt: now });
  });
  return sha;
}

/** A photo kept on the phone, or undefined once the server has it. */
export function getPhoto(db, sha) {
  return inTransaction(db, ["photos"], "readonly", ({ photos }) => asked(photos.get(sha)));
}

/** The names of the photos that wait to be sent. */
export function waitingPhotos(db) {
  return inTransaction(db, ["photos"], "readonly", ({ photos }) => asked(photos.index("state").getAllKeys("waiting")));
}

/** Forgets a photo: the server has it, or it was taken out of a draft. */
export function dropPhoto(db, sha) {
  return inTransaction(db, ["photos"], "readwrite", ({ photos }) => asked(photos.delete(sha)));
}

/** Marks a photo that the server will not take, with its reason. */
export function refusePhoto(db, sha, problem) {
  return inTransaction(db, ["photos"], "readwrite", async ({ photos }) => {
    const photo = await asked(photos.get(sha));
    if (photo) photos.put({ ...photo, state: "refused", problem });
  });
}

async function shrink(file) {
  const image = new Image();
  const address = URL.createObjectURL(file);
  try {
    image.src = address;
    await image.decode();
    const scale = Math.min(1, LONGEST_SIDE / Math.max(image.naturalWidth, image.naturalHeight));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(image.naturalWidth * scale));
    canvas.height = Math.max(1, Math.round(image.naturalHeight * scale));
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
    if (!blob) throw new DOMException("no picture", "EncodingError");
    // Bytes, not a Blob: some browsers lose Blobs kept in IndexedDB.
    return await blob.arrayBuffer();
  } finally {
    URL.revokeObjectURL(address);
  }
}

function hex(buffer) {
  return Array.from(new Uint8Array(buffer), (byte) => byte.toString(16).padStart(2, "0")).join("");
}
