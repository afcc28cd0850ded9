// Photos of a report: taken, made small and kept at once; sent later.

import { button, fill, h } from "./dom.js";
import { part } from "./parts.js";
import { MOST_PHOTOS, dropPhoto, getPhoto, keepPhoto } from "./photos.js";
import { isNoRoom } from "./store.js";

/**
 * @param {object} phone
 * @param {string[]} photos SHA-256 of each, as the draft has them
 * @param {(photos: string[]) => void} onChange
 */
export function photosForm(phone, photos, onChange) {
  const { t, db } = phone;
  const taken = [...photos];
  const shown = h("div", { class: "photos" });
  const camera = h("input", {
    type: "file", accept: "image/*", capture: "environment", class: "camera", id: "camera",
    on: { change: () => take(camera.files[0]) },
  });

  async function take(file) {
    if (!file) return;
    camera.value = "";
    if (taken.length >= MOST_PHOTOS) {
      phone.say(t("photos_full", { most: MOST_PHOTOS }), true);
      return;
    }
    try {
      const sha = await keepPhoto(db, file, phone.clock());
      if (!taken.includes(sha)) taken.push(sha);
      onChange([...taken]);
      await draw();
    } catch (error) {
      phone.say(t(isNoRoom(error) ? "no_room" : "photo_unreadable", { why: String(error?.message ?? error) }), true);
    }
  }

  async function leaveOut(sha) {
    taken.splice(taken.indexOf(sha), 1);
    onChange([...taken]);
    // One that a report in the queue shows as well must stay.
    if ((await getPhoto(db, sha))?.state === "draft") await dropPhoto(db, sha);
    await draw();
  }

  async function draw() {
    const pictures = await Promise.all(taken.map((sha) => getPhoto(db, sha)));
    fill(shown, pictures.filter(Boolean).map((photo, at) =>
      h("figure", { class: "photo" }, thumbnail(photo, t("photo_n", { n: at + 1 })),
        button(t("photo_leave_out"), () => leaveOut(photo.sha), { class: "plain" }))));
  }

  draw();
  return part(t("photos"), shown,
    h("label", { class: "key key-wide camera-key", for: "camera" }, t("photo_take")), camera);
}

/** A small picture of a photo kept on the phone. */
export function thumbnail(photo, label) {
  const address = URL.createObjectURL(new Blob([photo.bytes], { type: photo.type }));
  return h("img", { src: address, alt: label, width: 96, on: { load: () => URL.revokeObjectURL(address) } });
}
