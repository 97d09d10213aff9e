// Comfort for the page of a question; everything works without it.
// It keeps the answer in this browser, runs the clock between sendings, and
// leads from a line's number to the same line where it is written.
"use strict";

(() => {
  // What a browser that keeps nothing throws is no reason to stop.
  const kept = {
    get(store, key) { try { return store.getItem(key); } catch { return null; } },
    set(store, key, value) { try { store.setItem(key, value); } catch { /* full, or not allowed */ } },
    drop(store, key) { try { store.removeItem(key); } catch { /* nothing was kept */ } },
  };
  const button = (words, act) => {
    const b = document.createElement("button");
    b.type = "button";
    b.textContent = words;
    b.addEventListener("click", act);
    return b;
  };

  const print = document.getElementById("print");
  if (print) print.append(button("Print this sheet", () => window.print()));

  const area = document.getElementById("answer");
  if (!area || area.tagName !== "TEXTAREA") return;
  const form = area.form;
  const question = area.dataset.question;
  const key = "batten answer " + question;

  // ---- the answer survives: a reload, a closed page, a way back ----
  const before = form.elements.namedItem("before");
  if (area.value === "") {
    const draft = kept.get(localStorage, key);
    if (draft) area.value = draft;
  } else {
    kept.set(localStorage, key, area.value);
  }
  area.addEventListener("input", () => kept.set(localStorage, key, area.value));
  const forget = document.getElementById("forget");
  if (forget) {
    forget.append(button("Forget my answer", () => {
      area.value = "";
      kept.drop(localStorage, key);
      kept.drop(sessionStorage, "batten open " + question);
      area.focus();
    }));
  }

  // ---- sending from the keyboard ----
  area.addEventListener("keydown", (e) => {
    if (e.key === "Enter" && (e.ctrlKey || e.metaKey)) form.requestSubmit();
  });

  // ---- which line is being written ----
  const caret = document.getElementById("caret");
  const tell = () => {
    if (document.activeElement !== area) return;
    const n = area.value.slice(0, area.selectionStart).split("\n").length;
    caret.textContent = "You are on line " + n + ". Ctrl and Enter send.";
  };
  if (caret) for (const e of ["keyup", "click", "focus", "input"]) area.addEventListener(e, tell);

  // ---- from a line's number to the line where it is written ----
  const reach = (n) => {
    const all = area.value.split("\n");
    if (n > all.length) return;
    const from = all.slice(0, n - 1).reduce((at, l) => at + l.length + 1, 0);
    area.focus();
    area.setSelectionRange(from, from + all[n - 1].length);
    const high = parseFloat(getComputedStyle(area).lineHeight) || 24;
    area.scrollTop = Math.max(0, (n - 4) * high);
    area.scrollIntoView({ block: "center" });
    tell();
  };
  for (const no of document.querySelectorAll(".script .no")) {
    const n = parseInt(no.lastChild.textContent, 10);
    no.title = "Go to this line where it is written";
    no.addEventListener("click", () => reach(n));
  }

  // ---- what was opened stays open while the answer is the same ----
  const opened = "batten open " + question;
  const sheet = document.querySelector(".reading");
  if (sheet) {
    const notes = [...sheet.querySelectorAll("details")];
    const was = JSON.parse(kept.get(sessionStorage, opened) || "null");
    if (was && before && was.answer === before.value) {
      notes.forEach((d, i) => { d.open = was.open.includes(i); });
    }
    for (const d of notes) {
      d.addEventListener("toggle", () => kept.set(sessionStorage, opened, JSON.stringify({
        answer: before ? before.value : "",
        open: notes.flatMap((x, i) => (x.open ? [i] : [])),
      })));
    }
    // What was found is what a sender wants to see first.
    if (location.hash === "") {
      const head = document.getElementById("reading-h");
      head.focus({ preventScroll: true });
      if (head.getBoundingClientRect().top > window.innerHeight * 0.6) head.scrollIntoView();
    }
  }

  // ---- the clock ----
  const clock = document.querySelector(".clock");
  if (!clock) return;
  const minutes = Number(clock.dataset.minutes);
  const words = clock.querySelector(".left-over");
  const aloud = clock.querySelector("[role=status]");
  const running = "batten clock " + question;
  let began = Number(clock.dataset.began || kept.get(sessionStorage, running) || 0);
  let told = Infinity;
  let timer = 0;
  const two = (n) => String(n).padStart(2, "0");
  const tick = () => {
    const left = Math.round(began + minutes * 60 - Date.now() / 1000);
    if (left <= 0) {
      words.textContent = "The time is up. Your answer is kept: finish it, or send it as it stands.";
      words.parentElement.classList.add("out");
      if (told > 0 && told !== Infinity) aloud.textContent = "The time is up. Your answer is kept.";
      clearInterval(timer);
      told = 0;
      return;
    }
    words.textContent = Math.floor(left / 60) + ":" + two(left % 60) + " left of " + minutes + " minutes";
    for (const m of [10, 5, 1]) {
      if (left <= m * 60 && told > m * 60 && told !== Infinity) {
        aloud.textContent = m === 1 ? "One minute is left." : m + " minutes are left.";
      }
    }
    told = left;
  };
  const run = () => { tick(); if (told > 0) timer = setInterval(tick, 1000); };
  // Starting and stopping need no way to the server.
  const act = clock.querySelector("button");
  const start = (at) => {
    began = at;
    told = Infinity;
    kept.set(sessionStorage, running, String(at));
    for (const f of document.querySelectorAll("form[method=post]")) {
      for (const i of f.querySelectorAll("input[name=began]")) i.remove();
      const i = document.createElement("input");
      i.type = "hidden";
      i.name = "began";
      i.value = String(at);
      f.append(i);
    }
    act.value = "stop";
    act.textContent = "Put the clock away";
    run();
  };
  const stop = () => {
    clearInterval(timer);
    kept.drop(sessionStorage, running);
    for (const i of document.querySelectorAll("input[name=began]")) i.remove();
    words.parentElement.classList.remove("out");
    words.textContent = minutes + " minutes, if you want them timed. Nothing is cut off when they are over.";
    act.value = "clock";
    act.textContent = "Start the clock";
  };
  act.addEventListener("click", (e) => {
    e.preventDefault();
    if (act.value === "clock") start(Math.floor(Date.now() / 1000));
    else stop();
  });
  if (began) start(began);
})();
