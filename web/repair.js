/**
 * Throws the stored page away: its worker and its files. The field book's database is not touched.
 * @module repair
 */

/** @returns {Promise<number>} how many workers and stores of files were thrown away */
async function throwAway() {
  const registrations = (await navigator.serviceWorker?.getRegistrations()) ?? [];
  const names = "caches" in window ? await caches.keys() : [];
  const gone = await Promise.all([
    ...registrations.map((one) => one.unregister()),
    ...names.map((name) => caches.delete(name)),
  ]);
  return gone.filter(Boolean).length;
}

const said = /** @type {HTMLElement} */ (document.getElementById("said"));
const button = /** @type {HTMLButtonElement} */ (document.getElementById("repair"));

button.addEventListener("click", async () => {
  button.disabled = true;
  try {
    const gone = await throwAway();
    said.textContent = gone
      ? "Done. Go back to the page; it is fetched anew."
      : "There was nothing to throw away. Go back to the page.";
  } catch (error) {
    said.textContent = `That did not work: ${error instanceof Error ? error.message : error}. Close all tabs of this page and try again.`;
  }
  button.disabled = false;
});
