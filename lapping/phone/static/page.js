"use strict";
// On every page: a form is sent once, what is being worked out comes in when it is
// there, and a page that the browser kept is loaded anew.

window.addEventListener("pageshow", (event) => {
  if (event.persisted) location.reload();
});

for (const form of document.querySelectorAll("form[data-once]")) {
  let gone = false;
  form.addEventListener("submit", (event) => {
    if (gone) event.preventDefault();
    gone = true;
    setTimeout(() => { gone = false; }, 8000);
  });
}

const go = document.getElementById("go");
if (go) location.replace(go.href);

async function answerComesIn(answer) {
  while (answer.querySelector("progress")) {
    await new Promise((done) => setTimeout(done, 700));
    try {
      const got = await fetch(answer.dataset.from);
      if (got.status === 200) {
        answer.innerHTML = await got.text();
        const wants = answer.querySelector("[data-wants]");
        const link = wants && document.querySelector(`.three a[data-for="${wants.dataset.wants}"]`);
        if (link) link.classList.add("first");
      }
      else if (got.status !== 202) return;
    } catch {
      // The connection is gone for now; it is asked for again.
    }
  }
}
const answer = document.getElementById("answer");
if (answer) answerComesIn(answer);

async function photoIsLookedAt(waiting) {
  for (;;) {
    await new Promise((done) => setTimeout(done, 500));
    try {
      const got = await fetch(waiting.dataset.from, { headers: { accept: "application/json" } });
      if (!got.ok) return;
      const state = await got.json();
      waiting.querySelector(".seconds").textContent = state.seconds;
      if (state.done) return location.reload();
    } catch {
      // As above.
    }
  }
}
const waiting = document.getElementById("waiting");
if (waiting) photoIsLookedAt(waiting);
