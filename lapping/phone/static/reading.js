"use strict";
// Readings entered by thumb. Each is put down in this page's own store before it is sent,
// and taken out only when the log has it: a lost connection, a reload or a server that
// was killed loses none, and the key each has makes a second sending count for nothing.

(function () {
  const page = document.getElementById("reading");
  const set = page.dataset.set;
  const known = JSON.parse(document.getElementById("places").textContent);
  const entry = document.getElementById("entry");
  const text = document.getElementById("text");
  const keep = document.getElementById("keep");
  const skip = document.getElementById("skip");
  const back = document.getElementById("back");
  const again = document.getElementById("again");
  const finish = document.getElementById("finish");
  const said = document.getElementById("said");
  const choose = document.getElementById("choose");
  const banner = document.getElementById("banner");
  const token = entry.elements.token.value;
  const STORE = `lapping-set-${set}`;
  const ANSWERS_WITHIN = 4000;
  const FIRST_WAIT = 1000;
  const LONGEST_WAIT = 15000;
  const LOOKS_EVERY = 5000;
  const DOUBT = 409;

  let states = known.states;
  let was = known.was;
  let at = page.dataset.at === "" ? null : Number(page.dataset.at);
  let what = entry.elements.what.value;
  let doubted = null;
  let fresh = false;
  let sending = false;
  let wait = FIRST_WAIT;
  let timer = null;
  let stopped = "";
  const drafts = {};

  // A phone that allows no store keeps them as long as this page is open.
  let inPage = [];
  let turn = 0;
  function all() {
    try {
      return JSON.parse(localStorage.getItem(STORE)) || inPage;
    } catch {
      return inPage;
    }
  }
  function store(items) {
    inPage = items;
    turn += 1;
    try {
      if (items.length) localStorage.setItem(STORE, JSON.stringify(items));
      else localStorage.removeItem(STORE);
    } catch {
      // As above.
    }
  }
  // What was refused or doubted waits here too, until it is answered.
  const queue = () => all().filter((item) => !item.asked);
  const asked = () => all().filter((item) => item.asked);

  function newKey() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return [...bytes].map((one) => one.toString(16).padStart(2, "0")).join("");
  }

  // What is on its way counts as read here, so that the walk goes on without a network.
  function shown() {
    const found = states.slice();
    for (const item of queue()) found[item.place] = item.what === "skip" ? "skipped" : "read";
    return found;
  }
  function next() {
    const [first] = asked();
    if (first) return first.place;
    const open = shown().indexOf("open");
    return open < 0 ? null : open;
  }

  function tell(sentence, wrong) {
    const closing = document.querySelector("form.choose:not(#choose)");
    if (closing) closing.remove();
    said.textContent = sentence;
    said.className = wrong ? "wrong" : "kept";
  }

  function draw() {
    const now = shown();
    const waiting = new Set(all().map((item) => item.place));
    const line = at === null ? null : known.places[at].line;
    for (const mark of document.querySelectorAll(".place")) {
      const i = Number(mark.dataset.place);
      const names = ["place", now[i]];
      if (mark.dataset.again) names.push("again");
      if (i === at) names.push("here");
      if (waiting.has(i)) names.push("waiting");
      if (line !== null && mark.dataset.line !== line) names.push("elsewhere");
      mark.setAttribute("class", names.join(" "));
    }
    const many = now.filter((one) => one === "skipped").length;
    document.getElementById("place").textContent = at === null
      ? `All places are done${many ? `, ${many} skipped` : ""}.` : known.places[at].words;
    document.getElementById("line").textContent = at === null ? "" : known.places[at].say;
    document.getElementById("was").textContent = at === null ? ""
      : what === "again" ? "once more; both readings are kept"
      : was[at] ? `was: ${was[at]}` : "";
    entry.hidden = skip.hidden = at === null;
    back.hidden = at === 0;
    choose.hidden = doubted === null;
    choose.parentElement.classList.toggle("asks",
      doubted !== null || document.querySelector("form.choose:not(#choose)") !== null);
    const [so, only] = choose.querySelectorAll("button");
    so.textContent = doubted && doubted.read ? "Keep both" : "Keep it so";
    so.value = doubted && doubted.read ? "both" : "yes";
    only.hidden = !(doubted && doubted.read && doubted.what !== "skip");
    finish.querySelector("button").className = at === null ? "first" : "";
    const read = now.filter((one) => one === "read").length;
    document.title = document.title.replace(/^\d+ of/, `${read} of`);
    for (const field of document.querySelectorAll("input[name=place]")) {
      field.value = at === null ? "" : at;
    }
    if (again) again.href = at === null ? "?" : `?at=${at}&again=yes`;
    const left = queue().length;
    banner.hidden = left === 0 || (wait === FIRST_WAIT && !stopped);
    banner.textContent = stopped ? `${stopped} ${left} kept in this page.`
      : `No connection: ${left} kept in this page, sent when it is back.`;
  }

  function goTo(place, mode) {
    if (at !== null && text.value && !fresh) drafts[at] = text.value;
    if (place !== at) tell("", false);
    at = place;
    what = mode || (at !== null && shown()[at] !== "open" ? "correct" : "new");
    doubted = null;
    // What is there is to be typed over.
    fresh = what === "correct" && !drafts[at] && shown()[at] === "read";
    text.value = drafts[at] || (fresh ? was[at] || "" : "");
    delete drafts[at];
    const open = asked().find((item) => item.place === at);
    if (open) {
      what = open.what === "skip" ? "new" : open.what;
      doubted = open.asked === DOUBT ? open : null;
      fresh = false;
      text.value = open.text;
      tell(doubted ? `${open.why} Not kept yet.` : open.why, true);
    }
    draw();
    if (at !== null) text.focus({ preventScroll: true });
    if (fresh) text.select();
  }

  // One after another, in the order they were entered.
  async function send() {
    if (sending || stopped) return;
    const [item] = queue();
    if (!item) return draw();
    sending = true;
    clearTimeout(timer);
    const form = new FormData();
    for (const name of ["key", "place", "what", "text", "sure"]) form.append(name, item[name]);
    form.append("token", token);
    const stop = new AbortController();
    const late = setTimeout(() => stop.abort(), ANSWERS_WITHIN);
    try {
      const got = await fetch(`/set/${set}/reading`, {
        method: "POST", body: form, signal: stop.signal, headers: { accept: "application/json" },
      });
      if (got.status === DOUBT || got.status === 422) {
        const answer = await got.json();
        const open = { ...item, asked: got.status, why: answer.doubt || answer.said, read: answer.read };
        store(all().map((one) => (one.key === item.key ? open : one)));
        if (asked().length === 1) goTo(item.place);
      } else if (got.ok) {
        const answer = await got.json();
        store(all().filter((one) => one.key !== item.key));
        states = answer.states;
        was = answer.was;
        if (!asked().some((one) => one.place === at)) tell(`kept: ${answer.kept}`, false);
      } else if (got.status >= 500) {
        throw new Error(String(got.status));
      } else {
        stopped = got.status === 404 ? "This set is no longer there."
          : "This phone has to be let in again: scan the code.";
      }
      wait = FIRST_WAIT;
      sending = false;
      draw();
      send();
    } catch {
      sending = false;
      wait = Math.min(2 * wait, LONGEST_WAIT);
      timer = setTimeout(send, wait);
      draw();
    } finally {
      clearTimeout(late);
    }
  }

  function put(kind, value, sure) {
    const others = all().filter((item) => !(item.asked && item.place === at));
    store([...others, {
      key: newKey(), place: at, what: kind, text: value, sure: sure || "no",
    }]);
    tell("", false);
    text.value = "";
    goTo(next());
    send();
  }

  entry.addEventListener("submit", (event) => {
    event.preventDefault();
    const typed = text.value.trim();
    if (doubted && typed === doubted.text) return; // answered by the buttons above
    if (fresh && typed === was[at]) goTo(next());
    else if (typed) put(what, typed);
    else if (at !== null && was[at]) goTo(next());
    else tell("Nothing typed: a reading, or Skip.", true);
  });
  skip.addEventListener("submit", (event) => {
    event.preventDefault();
    put("skip", "", states[at] === "read" ? "yes" : "no");
  });
  choose.addEventListener("click", (event) => {
    event.preventDefault();
    const button = event.target.closest("button, a");
    if (!button || !doubted) return;
    if (button.tagName === "BUTTON") return put(doubted.what, doubted.text, button.value);
    store(all().filter((item) => item.key !== doubted.key));
    text.value = "";
    tell("", false);
    goTo(next());
  });

  // The second of two quick taps on one button is none.
  const TWICE_WITHIN = 600;
  let last = null;
  for (const button of [keep, skip.querySelector("button"), finish.querySelector("button")]) {
    button.addEventListener("click", (event) => {
      const twice = last && last.button === button && event.timeStamp - last.at < TWICE_WITHIN;
      if (event.detail && twice) event.preventDefault();
      else last = { button, at: event.timeStamp };
    });
  }
  back.addEventListener("click", (event) => {
    event.preventDefault();
    const here = at === null ? known.places.length : at;
    if (here > 0) goTo(here - 1);
  });
  finish.addEventListener("submit", (event) => {
    if (!all().length) return;
    event.preventDefault();
    if (asked().length) goTo(next());
    else tell("Some readings are not sent yet; Done when they are.", true);
    send();
  });

  // Our own keys, so that the phone's need not cover half the page.
  document.getElementById("keys").hidden = false;
  document.querySelector(".wipe").hidden = false;
  if (window.matchMedia("(pointer: coarse)").matches) text.inputMode = "none";
  function typed() {
    fresh = false;
    last = null;
  }
  for (const key of document.querySelectorAll(".key")) {
    key.addEventListener("click", () => {
      if (fresh && !("wipe" in key.dataset)) text.value = "";
      if ("wipe" in key.dataset) text.value = text.value.slice(0, -1);
      else if ("alone" in key.dataset && !text.value.endsWith("+")) text.value = key.dataset.puts;
      else text.value += key.dataset.puts;
      typed();
    });
  }
  text.addEventListener("input", typed);

  // Somebody else may be reading the same face.
  async function look() {
    if (document.hidden || sending || queue().length) return;
    const askedAt = turn;
    try {
      const got = await fetch(`/set/${set}/state`, { headers: { accept: "application/json" } });
      if (!got.ok) return;
      const answer = await got.json();
      // What was entered meanwhile is newer than this answer.
      if (turn !== askedAt) return;
      states = answer.states;
      was = answer.was;
      if (at !== null && what === "new" && states[at] !== "open" && !text.value) goTo(next());
      else draw();
    } catch {
      // Asked again soon.
    }
  }
  setInterval(look, LOOKS_EVERY);
  document.addEventListener("visibilitychange", look);
  window.addEventListener("online", () => { wait = FIRST_WAIT; send(); });

  if (asked().length || (what === "new" && at !== null && shown()[at] !== "open")) goTo(next());
  else draw();
  if (at !== null) text.focus({ preventScroll: true });
  send();
})();
