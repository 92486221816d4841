"use strict";
/* Shows what the station sends, counts what runs, and fits it to the screen. It decides nothing. */
const at = id => document.getElementById(id);
const wall = at("wall");
const LOST_AFTER_MS = 2600;
let view = null;
let heardAt = performance.now();
let lostSince = null;
let codeShown = "";

const set = (node, text) => { if (node.textContent !== text) node.textContent = text; };
const show = (node, text) => { set(node, text); node.hidden = !text; };
const two = number => String(number).padStart(2, "0");

/* Station time and wall time now, from those of the last message. */
const since = () => lostSince === null && view && !view.gone_at ? (performance.now() - heardAt) / 1000 : 0;
const now = () => view.now + since();
const clock = wallSeconds => {
  const date = new Date((wallSeconds + view.zone_s) * 1000);
  return `${two(date.getUTCHours())}:${two(date.getUTCMinutes())}`;
};
function left(due) {
  const seconds = Math.max(0, Math.ceil(due - now() - 0.05));
  const hours = Math.floor(seconds / 3600);
  const minutes = Math.floor(seconds / 60) % 60;
  return hours ? `${hours}:${two(minutes)}:${two(seconds % 60)}` : `${minutes}:${two(seconds % 60)}`;
}
const timeOf = one => one.by || (one.text ? one.text.replace("{time}", left(one.due)) : left(one.due));

function gaugeShown(gauge) {
  const node = at("gauge");
  node.hidden = !gauge;
  if (!gauge) return;
  node.className = `${gauge.zoomed ? "zoomed" : ""} ${gauge.over ? "over" : ""}`;
  node.setAttribute("aria-label", gauge.text);
  at("fill").style.width = `${gauge.fill * 100}%`;
  at("beyond").hidden = !gauge.over;
  at("beyond").style.left = `${gauge.fill * 100}%`;
  set(at("from"), gauge.from);
  for (const mark of gauge.marks) {
    const text = node.querySelector(`[data-mark="${mark.name}"]`);
    set(text, mark.text);
    text.style.left = node.querySelector(`[data-tick="${mark.name}"]`).style.left = `${mark.at * 100}%`;
  }
}

function buttonsShown(buttons) {
  const group = at("buttons");
  if (!group) return;
  const focused = document.activeElement && document.activeElement.dataset.name;
  group.replaceChildren(...buttons.map(one => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = one.label;
    button.dataset.name = one.name;
    button.dataset.key = one.key;
    button.addEventListener("click", () => press(button));
    return button;
  }));
  const again = focused && group.querySelector(`[data-name="${focused}"]`);
  if (again) again.focus();
}

async function press(button) {
  button.disabled = true;
  try {
    await fetch("/press", {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-Crumbcall-Token": wall.dataset.token },
      body: JSON.stringify({ key: button.dataset.key }),
    });
  } finally { setTimeout(() => { button.disabled = false; }, 600); }
}

function shown() {
  const head = view.head;
  const gone = view.hearing === "gone" || lostSince !== null;
  const question = gone ? null : view.question;
  wall.className = [
    `hearing-${gone ? "gone" : view.hearing}`, `phase-${view.phase}`,
    view.ringing.length && !gone ? "rings" : "", head.is_text ? "text-head" : "",
    view.gauge && view.gauge.over ? "over" : "",
  ].filter(Boolean).join(" ");
  set(at("title"), view.title);
  document.title = view.title;
  const lost = view.wall_trusted ? wall.dataset.lost : wall.dataset.lostUndated;
  set(at("hearing"), lostSince === null ? view.hearing_text : lost.replace("{time}", clock(lostSince)));
  show(at("trouble"), gone ? "" : view.trouble);
  show(at("practice"), gone ? "" : view.practice);
  show(at("late"), gone ? "" : view.late);
  at("question").hidden = !question;
  at("head").hidden = Boolean(question);
  if (question) {
    set(at("asked"), question.text);
    const words = question.answers.map(one => { const word = document.createElement("b"); word.textContent = one; return word; });
    const wanted = document.createElement("span");
    wanted.textContent = question.wanted;
    at("answers").replaceChildren(...(words.length ? words : [wanted]));
  }
  show(at("lead"), head.lead);
  set(at("unit"), head.unit);
  at("unit").hidden = !head.unit;
  show(at("then"), head.then);
  gaugeShown(view.gauge);
  set(at("account"), view.account.replace(/(\d) (g|%)/g, "$1\u00a0$2"));
  set(at("facts"), view.facts.join(" · "));
  set(at("heard"), view.heard);
  at("heard").className = view.understood ? "" : "missed";
  set(at("said"), view.said);
  if (at("buttons")) buttonsShown(gone ? [] : view.buttons);
  set(at("live"), gone ? at("hearing").textContent : view.spoken);
  counted();
  fit();
}

/* What moves every second, and nothing else. */
function counted() {
  if (!view || view.error) return;
  const head = view.head;
  const number = head.due === null ? head.big : left(head.due);
  const longer = number.length !== at("number").textContent.length;
  set(at("number"), number);
  show(at("time"), view.wall_trusted
    ? clock(view.wall + (lostSince === null ? (performance.now() - heardAt) / 1000 : 0))
    : wall.dataset.noClock.replace("{minutes}", String(Math.floor(now() / 60))));
  const old = lostSince !== null ? lostSince : view.gone_at;
  if (old !== null) {
    const minutes = Math.floor((view.wall + (performance.now() - heardAt) / 1000 - old) / 60);
    const text = lostSince === null ? view.old : view.wall_trusted ? wall.dataset.old : wall.dataset.oldUndated;
    show(at("old"), text.replace("{time}", clock(old)).replace("{minutes}", String(Math.max(0, minutes))));
  } else show(at("old"), "");
  for (const item of at("clocks").children) {
    const one = item.one;
    if (one) set(item.lastChild, timeOf(one));
  }
  if (longer && !head.is_text) fit();
}

function clocksShown(most) {
  const list = at("clocks");
  const items = view.clocks.slice(0, most).map(one => {
    const item = document.createElement("li");
    item.className = one.how;
    item.one = one;
    const time = document.createElement("b");
    time.textContent = timeOf(one);
    item.append(one.name, time);
    return item;
  });
  const rest = view.clocks.slice(most);
  if (rest.length) {
    const item = document.createElement("li");
    item.className = "more";
    const next = rest[0];
    const time = view.wall_trusted ? clock(view.wall + next.due - view.now) : left(next.due);
    item.textContent = view.more.replace("{count}", String(rest.length)).replace("{time}", time);
    items.push(item);
  }
  list.replaceChildren(...items);
  list.hidden = !view.clocks.length;
}
/* Where the line of the facts has no room, they stand behind the clocks, or else before the last words. */
function factsElsewhere() {
  const list = at("clocks");
  if (!factsBesideClocks(list)) set(at("also"), view.facts.join(" · "));
}
/* As many of them as have room, allergens, which are the last, before others. */
function factsBesideClocks(list) {
  if (list.hidden) return false;
  const item = document.createElement("li");
  item.className = "facts";
  for (let first = 0; first < view.facts.length; first++) {
    item.textContent = view.facts.slice(first).join(" · ");
    list.append(item);
    if (!tooWide(list)) return true;
    item.remove();
  }
  return false;
}
const tooWide = node => node.scrollWidth > node.clientWidth + 1;
const tooHigh = (node, by = 1) => node.scrollHeight > node.clientHeight + by;

/* Largest size (px) between two at which `fits` says yes; the least one where none does. */
function largest(node, least, most, fits) {
  let low = least, high = most;
  for (let step = 0; step < 9; step++) {
    const middle = (low + high) / 2;
    node.style.fontSize = `${middle}px`;
    if (fits()) low = middle; else high = middle;
  }
  node.style.fontSize = `${Math.floor(low)}px`;
}

/* First what counts, then the rest as far as there is room: the least wanted line goes first. */
const LEAST_WANTED = ["foot", "data", "words", "gauge"];
const hasText = id => id === "foot" || (id === "gauge" ? Boolean(view.gauge) : Boolean(at(id).textContent.trim()));
/* Room (share of the height) for a number with capitals of 29 % of it, and for a word that reaches below its line. */
const NUMBER_ROOM = 0.325, WORD_ROOM = 0.4;
function fit() {
  const portrait = innerHeight > innerWidth;
  const asked = at("head").hidden;
  const head = asked ? at("question") : at("head");
  set(at("also"), "");
  for (const id of LEAST_WANTED) at(id).hidden = !hasText(id);
  let most = portrait ? Math.min(5, view.clocks.length) : view.clocks.length;
  clocksShown(most);
  while (most > 1 && tooWide(at("clocks"))) clocksShown(--most);
  buttonsFitted();
  const beside = asked ? 0 : ["lead", "then"].reduce((sum, id) => sum + at(id).offsetHeight, 0);
  const word = !/^[\d:.]*$/.test(at("number").textContent);
  wall.classList.toggle("word", word);
  const share = asked ? 0.5 : portrait ? 0.2 : word ? WORD_ROOM : NUMBER_ROOM;
  const short = () => head.clientHeight < share * innerHeight + beside || tooHigh(wall);
  for (const id of LEAST_WANTED) if (short()) at(id).hidden = true;
  for (const id of [...LEAST_WANTED].reverse()) {
    if (!at(id).hidden || !hasText(id)) continue;
    at(id).hidden = false;
    if (short()) at(id).hidden = true;
  }
  while (most > 1 && portrait && short()) clocksShown(--most);
  if (at("data").hidden && !portrait) factsElsewhere();
  if (asked) {
    grow(at("asked"), () => !tooHigh(head) && !tooHigh(at("asked")) && !tooWide(at("asked")));
  } else if (view.head.is_text) {
    grow(at("number"), () => !tooHigh(at("big")) && !tooWide(at("big")));
  } else fitNumber(word, portrait);
}
/* No word of a button is broken: where one is too long, all are set smaller. */
function buttonsFitted() {
  const all = at("buttons") ? [...at("buttons").children] : [];
  for (const one of all) one.style.fontSize = "";
  if (!all.some(tooWide)) return;
  let size = parseFloat(getComputedStyle(all[0]).fontSize);
  while (size > LEAST_BUTTON_PX && all.some(tooWide)) {
    size -= 1;
    for (const one of all) one.style.fontSize = `${size}px`;
  }
}
const LEAST_BUTTON_PX = 13;
/* A text as large as it can be; where it is smaller than the next step, other lines make room. */
function grow(node, fits) {
  const step = parseFloat(getComputedStyle(at("then")).fontSize);  // that of the next step, shown or not
  const size = () => { largest(node, 0.4 * step, 1.6 * step, fits); return parseFloat(node.style.fontSize); };
  let reached = size();
  for (const id of LEAST_WANTED) {
    if (reached >= step) break;
    if (at(id).hidden) continue;
    at(id).hidden = true;
    reached = size();
  }
}
/* Size (px) of a number whose capitals are 25 mm high on a 7-inch panel, of 86 mm or, at 16 to 10, of 94 mm. */
const leastNumber = () => innerHeight * Math.min(0.41, 0.246 * innerWidth / innerHeight);
function fitNumber(word, portrait) {
  const number = at("number"), unit = at("unit"), big = at("big");
  number.style.lineHeight = word ? "" : "0.8";
  number.style.fontSize = "100px";
  unit.style.width = "min-content";
  const beside = portrait || unit.hidden ? 0 : unit.offsetWidth + 0.02 * innerWidth;
  const below = portrait && !unit.hidden ? unit.offsetHeight : 0;
  const widest = number.offsetWidth * 1.03;
  const byWidth = 100 * (big.clientWidth - beside) / widest;
  /* What a number is of stands in few lines, two at best, as long as the number stays large enough. */
  unit.style.width = "max-content";
  const inTwo = portrait || unit.hidden ? 0 : Math.min(unit.offsetWidth, Math.max(beside, 0.58 * unit.offsetWidth)) + 0.02 * innerWidth;
  const calmer = 100 * (big.clientWidth - inTwo) / widest;
  const byHeight = (big.clientHeight - below) / (word ? 0.98 : 0.8);
  unit.style.width = "";
  number.style.fontSize = `${Math.floor(Math.min(byHeight, byWidth, Math.max(calmer, leastNumber())))}px`;
}

function received(event) {
  view = JSON.parse(event.data);
  heardAt = performance.now();
  lostSince = null;
  if (view.error) { set(at("hearing"), view.error); set(at("live"), view.error); view = null; return; }
  shown();
}
function local(event) {
  codeShown = JSON.parse(event.data).code || "";
  show(at("code"), codeShown);
}
function beaten(event) {
  const time = JSON.parse(event.data);
  if (!view || time.now === undefined) return;
  view.now = time.now;
  view.wall = time.wall;
  heardAt = performance.now();
  if (lostSince !== null) { lostSince = null; shown(); }
}
function watched() {
  if (view && lostSince === null && performance.now() - heardAt > LOST_AFTER_MS) {
    lostSince = view.wall;
    shown();
  }
  counted();
}
let source = null;
function connect() {
  source = new EventSource("/events");
  source.addEventListener("view", received);
  source.addEventListener("local", local);
  source.addEventListener("beat", beaten);
  /* A browser gives up for good after an answer that is no stream, as 503: ask again. */
  source.addEventListener("error", () => {
    if (source.readyState === EventSource.CLOSED) { source.close(); setTimeout(connect, 2000); }
  });
}
connect();
setInterval(watched, 250);
addEventListener("resize", () => { if (view) fit(); });
if (document.fonts) document.fonts.ready.then(() => { if (view) fit(); });
