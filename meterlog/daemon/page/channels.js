// Every channel of the bench in one strip: what it shows, how old that is, and how its link does.

import { make } from "./dom.js";
import { ageText, flagsText } from "./format.js";
import { shownLevel } from "./digits.js";

function stateText({ link, age_s, link_text, low_battery, flags }) {
  const why = link === "live" ? "" : link_text;
  return [link, ageText(age_s), why, flagsText(flags), low_battery && "battery low"].filter(Boolean).join(" · ");
}

/** What the instrument said last beside its readings, and how often it has said something. */
function remarkText({ remark, remarks }) {
  if (!remark) return "";
  return remarks > 1 ? `says (message ${remarks}): ${remark}` : `says: ${remark}`;
}

function item(channel, isLookedAt) {
  const level = shownLevel(channel);
  const node = make(
    "li",
    { title: channel.link_text ?? "" },
    make("b", {}, channel.channel),
    make("span", { className: "reading" }, `${level.text} ${level.unit}`.trim()),
    make("small", {}, stateText(channel)),
  );
  const remark = remarkText(channel);
  if (remark) node.append(make("small", { className: "remark" }, `⚠ ${remark}`));
  node.dataset.link = channel.link;
  node.classList.toggle("old", !level.fresh);
  node.classList.toggle("looked-at", isLookedAt);
  return node;
}

export function renderChannels(list, channels, lookedAt = "") {
  list.replaceChildren(...channels.map((channel) => item(channel, channel.channel === lookedAt)));
}
