// The page in front of the service worker: it asks for the worker, looks for a newer shell now and then, and offers it.

const LOOK_AGAIN_MS = 3_600_000;

/**
 * Registers the worker.
 * @param {string} address of the worker
 * @param {(useNow: () => void) => void} onNewer told once a newer shell lies ready
 */
export async function keepShell(address, onNewer) {
  if (!("serviceWorker" in navigator)) return;
  let asked = false;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    // Only where the person asked for it: another tab may be in the middle of a reading.
    if (asked) location.reload();
  });
  const registration = await navigator.serviceWorker.register(address);
  const offer = (worker) =>
    onNewer(() => {
      asked = true;
      worker.postMessage("use now");
    });
  if (registration.waiting && navigator.serviceWorker.controller) offer(registration.waiting);
  registration.addEventListener("updatefound", () => {
    const worker = registration.installing;
    worker?.addEventListener("statechange", () => {
      if (worker.state === "installed" && navigator.serviceWorker.controller) offer(worker);
    });
  });
  let looked = Date.now();
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState !== "visible" || Date.now() - looked < LOOK_AGAIN_MS) return;
    looked = Date.now();
    registration.update().catch(() => {});
  });
}
