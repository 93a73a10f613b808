"use strict";
// A photo is sent as soon as it is taken, and how far it has come is shown.

for (const form of document.querySelectorAll("form.camera")) {
  const bar = form.querySelector("progress");
  const send = form.querySelector(".send");
  send.hidden = true;
  form.classList.remove("plain");

  function sent() {
    const asks = new XMLHttpRequest();
    asks.open("POST", form.action || location.href);
    asks.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) bar.value = event.loaded / event.total;
    });
    asks.addEventListener("load", () => {
      if (asks.status === 200) location.assign(asks.responseURL);
      else tell(asks.responseText);
    });
    asks.addEventListener("error", () => {
      bar.hidden = true;
      send.hidden = false;
      send.textContent = "No connection. Send it again";
    });
    bar.hidden = false;
    asks.send(new FormData(form));
  }

  function tell(page) {
    const told = new DOMParser().parseFromString(page, "text/html");
    const main = told.querySelector("main");
    bar.hidden = true;
    send.hidden = false;
    const old = form.querySelector(".wrong");
    if (old) old.remove();
    const wrong = document.createElement("p");
    wrong.className = "wrong";
    wrong.setAttribute("role", "alert");
    const said = main && main.querySelector(".wrong");
    wrong.textContent = said ? said.textContent : (told.body.textContent || "It was refused.").trim();
    form.prepend(wrong);
  }

  for (const file of form.querySelectorAll("input[type=file]")) {
    file.addEventListener("change", () => { if (file.files.length) sent(); });
  }
  form.addEventListener("submit", (event) => { event.preventDefault(); sent(); });
}
