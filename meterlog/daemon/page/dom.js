// The few things every part of the page does to the document. Texts are set as text, never as markup.

export const element = (id) => document.getElementById(id);

export function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/** Show the text, or hide the node when there is none. */
export function showText(node, text) {
  setText(node, text);
  node.hidden = text === "";
}

/** A new node: make("li", { className: "stale" }, "text", child...). */
export function make(tag, properties = {}, ...children) {
  const node = Object.assign(document.createElement(tag), properties);
  node.append(...children);
  return node;
}

/** What the page remembers on this computer; a browser that forbids it just forgets. */
export const memory = {
  read(key, otherwise) {
    try {
      return JSON.parse(localStorage.getItem(`meterlog.${key}`)) ?? otherwise;
    } catch {
      return otherwise;
    }
  },
  write(key, value) {
    try {
      localStorage.setItem(`meterlog.${key}`, JSON.stringify(value));
    } catch {
      // Private windows refuse storage. The choice then lasts as long as the page.
    }
  },
};
