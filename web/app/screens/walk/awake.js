/**
 * Keeps the screen awake while one walks. The lock is lost whenever the page is hidden, so it is
 * taken again each time the page is seen.
 * @module screens/walk/awake
 */

/**
 * Asks for the screen to stay on, until told to stop.
 * @param {(awake: boolean) => void} tell called with what holds now
 * @returns {() => void} lets the screen go
 */
export function stayAwake(tell) {
  /** @type {WakeLockSentinel | null} */
  let lock = null;
  let over = false;
  const take = async () => {
    if (over || lock || document.visibilityState !== "visible") return;
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", dropped);
      tell(true);
      if (over) void lock.release();
    } catch {
      // A phone low on battery refuses, an old one has no such lock. The sign then stays away.
      tell(false);
    }
  };
  const dropped = () => {
    lock = null;
    tell(false);
  };
  document.addEventListener("visibilitychange", take);
  void take();
  return () => {
    over = true;
    document.removeEventListener("visibilitychange", take);
    void lock?.release();
  };
}
