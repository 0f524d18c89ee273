// The live stream: connects, connects again, drops what is out of order, and knows when it has gone quiet.

export const STALE_MS = 2000;
const DEAD_MS = 6000;
const FIRST_RETRY_MS = 250;
const LAST_RETRY_MS = 5000;
const ALIVE_EVERY_MS = 1000;

export class Live {
  #socket = null;
  #retry_ms = FIRST_RETRY_MS;
  #sequence = -1;
  #heard_ms = performance.now();
  #said_alive_ms = 0;
  #timer = 0;

  /**
   * onMessage(message) gets every message that is new; onFresh() says that a connection was made, so
   * that what was announced in between can be fetched; onGarbled(text) gets what was no JSON.
   */
  constructor({ url, onMessage, onFresh, onGarbled }) {
    Object.assign(this, { url, onMessage, onFresh, onGarbled });
  }

  get quiet_ms() {
    return performance.now() - this.#heard_ms;
  }

  get stale() {
    return this.quiet_ms > STALE_MS;
  }

  connect() {
    clearTimeout(this.#timer);
    const socket = new WebSocket(this.url);
    this.#socket = socket;
    this.#sequence = -1; // a restarted daemon counts from the beginning
    socket.onopen = () => this.onFresh();
    socket.onmessage = (event) => socket === this.#socket && this.#take(event.data);
    socket.onclose = () => socket === this.#socket && this.#retryLater();
  }

  /** Now, if not connected: the tab came back or the network did. */
  hurry() {
    if (this.#socket?.readyState === WebSocket.OPEN && this.quiet_ms < DEAD_MS) return;
    this.#retry_ms = FIRST_RETRY_MS;
    this.connect();
  }

  /** Called now and then: a socket that stays open and says nothing is given up. */
  check() {
    if (this.quiet_ms < DEAD_MS || this.#socket?.readyState !== WebSocket.OPEN) return;
    this.#heard_ms = performance.now() - STALE_MS - 1; // still stale, and a new chance for the new socket
    this.#socket.close();
    this.#socket = null;
    this.#retryLater();
  }

  #take(data) {
    const message = this.#parse(data);
    if (message === null) return;
    this.#heard_ms = performance.now();
    this.#retry_ms = FIRST_RETRY_MS;
    this.#sayAlive();
    if (message.type === "live") {
      if (message.sequence <= this.#sequence) return;
      this.#sequence = message.sequence;
    }
    this.onMessage(message);
  }

  #parse(data) {
    try {
      return JSON.parse(data);
    } catch {
      this.onGarbled(data);
      return null;
    }
  }

  // Follows the messages and not a timer: timers of a hidden tab run once a minute.
  #sayAlive() {
    if (this.#heard_ms - this.#said_alive_ms < ALIVE_EVERY_MS) return;
    this.#said_alive_ms = this.#heard_ms;
    this.#socket.send('{"type":"alive"}');
  }

  #retryLater() {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.connect(), this.#retry_ms);
    this.#retry_ms = Math.min(2 * this.#retry_ms, LAST_RETRY_MS);
  }
}
