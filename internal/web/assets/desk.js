// Progressive enhancement only: every page works without this file.
// Markup it knows:
//   [data-count]            a count: buttons data-step="-1"/"+1" and "none" beside one text input
//   form[data-swap]         sent in the background; the answer's main and strips replace the page's
//   form[data-guard]        asks before typed and unsent input is left behind
//   [data-key="x"]          pressed by that key when no text field has the focus
//   [data-find]             focused by "/"
//   [data-part]             with an id: replaced by the same part of a newer answer
//   [data-poll="1000"]      asks the page again after so many ms, as long as a part says so
//   form[data-live]         a question (GET): asked as soon as a field changes; its answer is in parts
//   [data-faults]           what is wrong with a form: it, or the first wrong field, is brought into view
//   [data-stopwatch]        shows the time since its datetime (see stopwatch below)
"use strict";
(() => {
  const typing = (el) => el && (el.isContentEditable || /^(TEXTAREA|SELECT)$/.test(el.tagName) ||
    (el.tagName === "INPUT" && !/^(checkbox|radio|button|submit|file|range)$/.test(el.type)));

  // Counts. An untouched count stays empty, which means nobody counted; the
  // left button then says "None" and writes a nought.
  const showCount = (box) => {
    const input = box.querySelector("input");
    const less = box.querySelector('[data-step="-1"]');
    if (!less) return;
    const empty = input.value.trim() === "";
    less.classList.toggle("none", empty);
    less.firstChild.textContent = empty ? "None" : "\u2212";
    less.setAttribute("aria-label", empty ? less.dataset.none : less.dataset.less);
  };
  const step = (box, by) => {
    const input = box.querySelector("input");
    const now = parseInt(input.value, 10);
    input.value = Number.isNaN(now) ? Math.max(by, 0) : Math.max(now + by, 0);
    input.dispatchEvent(new Event("input", { bubbles: true }));
    showCount(box);
  };
  document.addEventListener("click", (e) => {
    const button = e.target.closest("[data-step]");
    if (button) step(button.closest("[data-count]"), Number(button.dataset.step));
  });

  // Unsent input. A form that has been sent, or never touched, asks nothing.
  let unsent = null;
  document.addEventListener("input", (e) => {
    const form = e.target.form;
    if (form && form.hasAttribute("data-guard")) unsent = form;
    const box = e.target.closest("[data-count]");
    if (box) showCount(box);
  });
  window.addEventListener("beforeunload", (e) => {
    if (unsent && unsent.isConnected) e.preventDefault();
  });

  // Sending. A second press while the first is under way does nothing; the
  // form's own id makes a repeat harmless in any case.
  document.addEventListener("submit", (e) => {
    const form = e.target;
    if (form.dataset.sending) { e.preventDefault(); return; }
    if (unsent === form) unsent = null;
    if (form.hasAttribute("data-swap") && form.method === "post") {
      e.preventDefault();
      swap(form, e.submitter);
      return;
    }
    form.dataset.sending = "1";
    if (e.submitter) e.submitter.setAttribute("aria-busy", "true");
  });
  // Coming back with the browser's own button shows a page that was frozen while sending.
  window.addEventListener("pageshow", () => {
    for (const f of document.querySelectorAll("form[data-sending]")) delete f.dataset.sending;
    for (const b of document.querySelectorAll("[aria-busy]")) b.removeAttribute("aria-busy");
  });

  // What was entered in other forms of the page and not sent yet stays when the
  // page's main is replaced: the count of one tank while another is ticked.
  const changed = (e) => {
    if (!e.name || /^(hidden|submit|button|file)$/.test(e.type)) return false;
    if (/^(checkbox|radio)$/.test(e.type)) return e.checked !== e.defaultChecked;
    if (e.tagName === "SELECT") return [...e.options].some((o) => o.selected !== o.defaultSelected);
    return e.value !== e.defaultValue;
  };
  const unsentBeside = (sent) => [...document.querySelectorAll("main form[id]")].filter((f) => f !== sent).flatMap((f) =>
    [...f.elements].filter(changed).map((e) => ({ form: f.getAttribute("id"), name: e.name, type: e.type, option: e.value, value: e.value, checked: e.checked,
      open: e.closest("details") ? e.closest("details").open : false })));
  const putBack = (all) => {
    for (const x of all) {
      const f = document.getElementById(x.form);
      if (!f || f.tagName !== "FORM") continue; // its job is done meanwhile
      const choice = /^(checkbox|radio)$/.test(x.type);
      const e = [...f.elements].find((e) => e.name === x.name && e.type === x.type && (!choice || e.value === x.option));
      if (!e) continue;
      if (choice) e.checked = x.checked; else e.value = x.value;
      if (x.open && e.closest("details")) e.closest("details").open = true;
      if (f.hasAttribute("data-guard")) unsent = f;
    }
  };

  const swap = async (form, submitter) => {
    form.dataset.sending = "1";
    if (submitter) submitter.setAttribute("aria-busy", "true");
    const body = new URLSearchParams(new FormData(form, submitter));
    let answer, text;
    try {
      answer = await fetch(form.action, { method: "POST", body, credentials: "same-origin" });
      text = await answer.text();
    } catch {
      delete form.dataset.sending;
      if (submitter) submitter.removeAttribute("aria-busy");
      tell(form);
      return;
    }
    const next = new DOMParser().parseFromString(text, "text/html");
    const main = next.querySelector("main");
    if (!main) { window.location.assign(answer.url); return; }
    const place = form.getAttribute("id"); // form.id is its field of that name
    const typed = unsentBeside(form);
    document.querySelector("main").replaceWith(main);
    const strips = next.querySelector("#strips");
    const old = document.querySelector("#strips");
    if (strips && old) old.replaceWith(strips);
    document.title = next.title;
    if (answer.redirected) history.replaceState(null, "", answer.url);
    putBack(typed);
    dress(main);
    // The focus stays where the hand is: the same form if it is still there, else the next one.
    const same = place && document.getElementById(place);
    const wrong = main.querySelector("[aria-invalid=true]");
    const to = wrong || (same && same.querySelector("button,input:not([type=hidden])"));
    if (to) to.focus({ preventScroll: !wrong });
  };
  // No answer: say so beside the form, keep what was typed.
  const tell = (form) => {
    let note = form.querySelector("[data-unsent]");
    if (!note) {
      note = document.createElement("p");
      note.dataset.unsent = "1";
      note.className = "needs";
      note.setAttribute("role", "alert");
      form.append(note);
    }
    note.textContent = "Not sent: no answer from the desk. What you entered is still here. Press again when there is signal.";
  };

  // Parts. A page that is still working something out is asked again; a question
  // is asked as its fields change. Only the parts change, never a field in use.
  let asked = window.location.href, asking = 0, timer = 0;
  const ask = async (url, push) => {
    const mine = ++asking;
    clearTimeout(timer);
    let text;
    try {
      const answer = await fetch(url, { credentials: "same-origin" });
      text = await answer.text();
    } catch {
      if (mine === asking) timer = setTimeout(ask, 5000, url, push);
      return;
    }
    if (mine !== asking) return; // a later question is under way
    const next = new DOMParser().parseFromString(text, "text/html");
    for (const old of document.querySelectorAll("[data-part][id]")) {
      const part = next.getElementById(old.id);
      if (!part || part.innerHTML === old.innerHTML && part.dataset.poll === old.dataset.poll) continue;
      if ([...old.querySelectorAll("form[method=post] :is(input,select,textarea)")].some((e) => e === document.activeElement || changed(e))) continue;
      const open = [...old.querySelectorAll("details")].map((d) => d.open);
      part.querySelectorAll("details").forEach((d, i) => { if (open[i]) d.open = true; });
      old.replaceWith(part);
    }
    asked = url;
    if (push) history.replaceState(null, "", url);
    poll();
  };
  const poll = () => {
    clearTimeout(timer);
    const waits = document.querySelector("[data-poll]");
    if (waits) timer = setTimeout(ask, Number(waits.dataset.poll) || 1000, asked, false);
  };
  document.addEventListener("change", (e) => {
    const form = e.target.form;
    if (form && form.hasAttribute("data-live")) ask(form.action + "?" + new URLSearchParams(new FormData(form)), true);
  });
  poll();

  // Keys.
  document.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey || typing(document.activeElement)) return;
    if (e.key === "/") {
      const find = document.querySelector("[data-find]");
      if (find) { e.preventDefault(); find.focus(); find.select(); }
      return;
    }
    const hit = document.querySelector(`[data-key="${CSS.escape(e.key)}"]`);
    if (hit) { e.preventDefault(); hit.click(); }
  });

  // Stopwatch: the server writes the start; the page only counts on from there.
  const pad = (n) => String(n).padStart(2, "0");
  const clocks = () => {
    for (const el of document.querySelectorAll("time[data-stopwatch]")) {
      const s = Math.max(0, Math.floor((Date.now() - Date.parse(el.dateTime)) / 1000));
      el.textContent = (s >= 3600 ? Math.floor(s / 3600) + ":" + pad(Math.floor(s / 60) % 60) : Math.floor(s / 60)) + ":" + pad(s % 60);
    }
  };
  const dress = (root) => {
    for (const box of root.querySelectorAll("[data-count]")) showCount(box);
    clocks();
  };
  dress(document);
  // A form that came back wrong may stand far down the page: show what is wrong, not the page's head.
  const faults = document.querySelector("[data-faults]"), field = document.querySelector("main [aria-invalid=true]");
  if ((faults || field) && !location.hash && (faults || field).getBoundingClientRect().bottom > innerHeight) {
    (faults || field).scrollIntoView({ block: faults ? "start" : "center" });
  }
  if (document.querySelector("time[data-stopwatch]")) setInterval(clocks, 1000);
})();
