// The daemon's REST interface: JSON in, JSON out, one shape of error.

export class ApiError extends Error {
  /** `problems`: every single one, where there may be many; each gets a line of its own. `where`: what it is about. */
  constructor({ what, where, do: todo, problems = [] }, status = 0) {
    super([[what, where && `(${where})`, todo].filter(Boolean).join(" "), ...problems].join("\n"));
    this.status = status;
    this.where = where;
  }
}

const SILENT = { what: "The daemon does not answer.", where: "", do: "Look whether “meterlog serve” runs." };
const REFUSED_TOKEN = [401, 403];

export class Api {
  #token = null;

  async get(path) {
    return this.#ask(path, {});
  }

  /** A write. A restarted daemon has a new token: it refuses the old one having done nothing, so ask again. */
  async post(path, body) {
    try {
      return await this.#write(path, body);
    } catch (error) {
      if (!REFUSED_TOKEN.includes(error.status)) throw error;
      this.#token = null;
      return this.#write(path, body);
    }
  }

  async #write(path, body) {
    this.#token ??= (await this.get("/api/token")).token;
    return this.#ask(path, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-Meterlog-Token": this.#token },
      body: JSON.stringify(body),
    });
  }

  async #ask(path, options) {
    const response = await fetch(path, { cache: "no-store", ...options }).catch(() => {
      throw new ApiError(SILENT);
    });
    const answer = await response.json().catch(() => null);
    if (response.ok) return answer;
    throw new ApiError(answer?.error ?? { what: `The daemon answered ${response.status}.`, where: path, do: "" },
      response.status);
  }
}
