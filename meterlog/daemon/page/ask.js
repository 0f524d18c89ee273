// One dialog for the few words a redo, a skip or a note wants.

import { element, make, setText } from "./dom.js";

/**
 * The text the person gave, or null for "cancel".
 * `choices` are common answers that one press fills in; `required` refuses an empty text.
 */
export function ask({ title, label, confirm, required = false, choices = [] }) {
  const dialog = element("ask");
  const input = element("ask-text");
  setText(element("ask-title"), title);
  setText(element("ask-label"), label);
  setText(element("ask-ok"), confirm);
  input.value = "";
  input.required = required;
  element("ask-choices").replaceChildren(...choices.map((text) => choiceButton(text, input)));
  element("ask-cancel").onclick = () => dialog.close("");
  dialog.returnValue = "";
  dialog.showModal();
  return new Promise((resolve) => {
    dialog.onclose = () => {
      leaveFocus();
      resolve(dialog.returnValue === "ok" ? input.value.trim() : null);
    };
  });
}

function choiceButton(text, input) {
  const button = make("button", { type: "button" }, text);
  button.onclick = () => {
    input.value = text;
    input.focus();
  };
  return button;
}

/** No button keeps the focus after use: a pedal that types a space would press it again. */
export function leaveFocus() {
  document.activeElement?.blur?.();
}
