// Keeps the screen from going dark while a session runs. The browser drops the lock with every hidden tab.

export class Wake {
  #lock = null;
  wanted = false;
  /** Why the screen may go dark, "" if it is held. */
  why = "";

  constructor(onChange) {
    this.onChange = onChange;
    document.addEventListener("visibilitychange", () => this.keep());
  }

  want(wanted) {
    if (wanted === this.wanted) return;
    this.wanted = wanted;
    if (wanted) this.keep();
    else this.#release();
  }

  async keep() {
    if (!this.wanted || document.visibilityState !== "visible" || this.#held) return;
    this.why = await this.#request();
    this.onChange();
  }

  get #held() {
    return this.#lock !== null && !this.#lock.released;
  }

  async #request() {
    if (!("wakeLock" in navigator)) return "screen may sleep: keeping it awake needs https or this computer";
    try {
      this.#lock = await navigator.wakeLock.request("screen");
      return "";
    } catch (error) {
      return `screen may sleep: ${error.message}`;
    }
  }

  #release() {
    this.#lock?.release();
    this.#lock = null;
    this.why = "";
    this.onChange();
  }
}
