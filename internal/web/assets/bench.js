// The bench's own script. Every page works without it: photographs are then
// sent by one form, points are typed, and the page is loaded again by hand.
// Markup it knows:
//   form[data-files]    files are sent a few at a time, with how far it is; drop anywhere
//   [data-reading="3"]  the page is fetched again every so many seconds and its main replaced
//   [data-glass]        a photograph to enlarge, move and tap; taps fill #taps
"use strict";
(() => {
  const $ = (s, el = document) => el.querySelector(s);

  // Sending many files: several small requests, so that a broken line loses
  // little and the person sees how far it is. What arrived twice is kept once.
  // The form is looked up each time: the page may have been drawn anew.
  const filesForm = () => $("form[data-files]");
  // The first part is small, so that something can be read at once; each next
  // one is twice as large.
  const PART = 40 << 20, FEW = 2, MANY = 48;
  const parts = (files) => {
    const out = [[]];
    let size = 0, most = FEW;
    for (const f of files) {
      const last = out[out.length - 1];
      if (last.length && (last.length >= most || size + f.size > PART)) { out.push([f]); size = f.size; most = Math.min(MANY, 2 * most); } else { last.push(f); size += f.size; }
    }
    return out;
  };
  let sending = false;

  // While the rest is being sent, what has been read is shown already, the best
  // first. Its links open beside the page, which has to stay.
  const peek = async (bench) => {
    const began = Date.now();
    let some = false;
    try {
      const next = new DOMParser().parseFromString(await (await fetch(bench, { credentials: "same-origin" })).text(), "text/html");
      const loose = $("#loose", next), here = $("#loose"), form = filesForm();
      if (sending && loose && form && !(here && $("details[open]", here))) {
        const all = [...loose.querySelectorAll(".frames > li")].filter((li) => !li.closest("details"));
        const waits = all.filter((li) => "waits" in li.dataset);
        some = all.length > waits.length;
        for (const li of waits.slice(some ? 0 : 2)) li.remove(); // each picture of them would hold up the reading
        for (const el of loose.querySelectorAll("form, .going-to")) el.remove();
        for (const a of loose.querySelectorAll("a")) a.target = "_blank";
        const says = $("h2", loose);
        if (says) says.textContent = some ? "Read so far, the sharpest first" : "Sent so far";
        if (here) here.replaceWith(loose); else (form.closest("section") || form).after(loose);
      }
    } catch { /* the next look tries again */ }
    const took = Date.now() - began;
    if (sending) setTimeout(peek, Math.max(some ? 2000 : 500, 4 * took), bench);
  };

  const send = async (files) => {
    if (sending || !files.length || !filesForm()) return;
    sending = true;
    const form = filesForm(), says = $("[data-sent]", form), bar = $("progress", form);
    const bench = form.action.replace(/\/add$/, "");
    form.classList.add("sending");
    bar.max = files.length;
    let sent = 0, added = 0, first = "", last = "";
    const known = [], bad = [];
    const rest = () => { sending = false; form.classList.remove("sending"); };
    const was = (n) => (n === 1 ? "1 was" : `${n} were`);
    for (const part of parts(files)) {
      says.textContent = `${sent} of ${files.length} files sent. Keep this page open.`;
      bar.value = sent;
      const body = new FormData();
      for (const f of part) body.append("photo", f, f.name);
      let answer, refused = false;
      for (let tries = 0; tries < 3 && !answer && !refused; tries++) {
        try {
          const r = await fetch(form.action, { method: "POST", body, credentials: "same-origin", headers: { Accept: "application/json" } });
          if (r.ok) answer = await r.json();
          else {
            refused = true;
            const why = $(".problem .lines span", new DOMParser().parseFromString(await r.text(), "text/html"));
            for (const f of part) bad.push({ name: f.name, says: (why && why.textContent.trim()) || "The desk refused it." });
          }
        } catch { await new Promise((done) => setTimeout(done, 1500 * (tries + 1))); }
      }
      if (!answer && !refused) {
        says.textContent = `No answer from the desk after ${sent} of ${files.length} files. Those sent are kept; press again to send the rest.`;
        rest();
        return;
      }
      if (answer) {
        added += answer.added;
        first = first || answer.first || "";
        last = answer.last || last;
        known.push(...(answer.known || []));
        bad.push(...(answer.bad || []));
      }
      if (!sent) setTimeout(peek, 300, bench);
      sent += part.length;
      if (refused) { // the rest would fare no better
        if (sent < files.length) bad.push({ name: `${files.length - sent} more`, says: "Not sent." });
        break;
      }
    }
    sending = false;
    bar.remove();
    const to = bench + (added ? "?" + new URLSearchParams({ added, first, last }) : "");
    if (!bad.length && !known.length) {
      window.location.assign(to);
      return;
    }
    says.textContent = `${added} added` + (known.length ? `, ${was(known.length)} here already` : "") + (bad.length ? `, ${bad.length} could not be taken:` : ".");
    const list = document.createElement("ul");
    list.className = "bad-files";
    for (const b of bad.slice(0, 200)) {
      const li = document.createElement("li");
      li.textContent = `${b.name}: ${b.says}`;
      list.append(li);
    }
    const on = document.createElement("a");
    on.href = to;
    on.className = "b main";
    on.textContent = "To the bench";
    says.append(list, on);
  };
  document.addEventListener("submit", (e) => {
    if (e.target !== filesForm()) return;
    const files = [...e.target.querySelectorAll("input[type=file]")].flatMap((i) => [...i.files]).filter((f) => !f.name.startsWith("."));
    if (!files.length) return;
    e.preventDefault();
    e.stopPropagation();
    send(files);
  }, true);
  const offerDrop = () => { const drop = $("form[data-files] [data-drop]"); if (drop) drop.hidden = false; };
  offerDrop();
  document.addEventListener("dragover", (e) => { if (filesForm() && e.dataTransfer && [...e.dataTransfer.types].includes("Files")) { e.preventDefault(); document.body.classList.add("dropping"); } });
  document.addEventListener("dragleave", (e) => { if (!e.relatedTarget) document.body.classList.remove("dropping"); });
  document.addEventListener("drop", (e) => {
    const form = filesForm();
    if (!form || !e.dataTransfer || !e.dataTransfer.files.length) return;
    e.preventDefault();
    document.body.classList.remove("dropping");
    const fold = form.closest("details");
    if (fold) fold.open = true;
    form.scrollIntoView({ block: "center" });
    send([...e.dataTransfer.files]);
  });

  // Reading goes on while one looks: the page follows, unless something is
  // being filled in or unfolded. At first it looks more often.
  let looks = 0;
  const wait = (took) => setTimeout(follow, Math.max(looks++ < 8 ? 1000 : 1000 * Number($("[data-reading]").dataset.reading), 4 * took));
  const follow = async () => {
    if (!$("[data-reading]")) return;
    const began = Date.now();
    let text;
    try { text = await (await fetch(window.location.href, { credentials: "same-origin" })).text(); } catch { wait(3000); return; }
    const busy = sending || $("main details[open]") || document.hidden ||
      (document.activeElement && /^(INPUT|SELECT|TEXTAREA)$/.test(document.activeElement.tagName));
    const next = new DOMParser().parseFromString(text, "text/html");
    const now = $("[data-reading]"), then = $(".reading", next);
    if (!now) return;
    const main = $("main", next);
    if (!busy && main) {
      const y = window.scrollY;
      for (const s of main.querySelectorAll("script")) s.remove(); // it runs already
      $("main").replaceWith(main);
      window.scrollTo(0, y);
      offerDrop();
    } else if (then) {
      $("#reading-says", now).textContent = $("#reading-says", then).textContent;
      $("progress", now).value = $("progress", then).value;
    } else now.remove();
    if ($("[data-reading]")) wait(Date.now() - began);
  };
  if ($("[data-reading]")) wait(0);

  // Nothing and something exclude each other on the keys, and a mark that is
  // something is something.
  document.addEventListener("change", (e) => {
    if (e.target.matches("select[form=judge]") && e.target.value && e.target.value !== "pigment") {
      const none = $("#judge input[name=say][value=nothing]");
      if (none) none.checked = false;
    }
    if (e.target.name !== "say" || !e.target.checked) return;
    for (const o of e.target.form.querySelectorAll("input[name=say]")) {
      if ((o.value === "nothing") !== (e.target.value === "nothing") && o.value !== "pigment") o.checked = false;
    }
  });

  // The glass: wheel, pinch, drag, keys. Two taps measure.
  const glass = $("[data-glass]");
  if (!glass) return;
  const slide = $(".slide", glass), svg = $("svg", glass), image = $("image", svg);
  const W = Number(glass.dataset.w), H = Number(glass.dataset.h);
  let k = 1, x = 0, y = 0, sharp = false, drawn = 0;
  const draw = () => {
    drawn = 0;
    slide.style.transform = `translate(${x}px,${y}px) scale(${k})`;
    glass.style.touchAction = k > 1 ? "none" : "pan-y"; // the page still scrolls under a thumb
    if (k > 1.6 && !sharp) { sharp = true; const i = new Image(); i.onload = () => image.setAttribute("href", i.src); i.src = glass.dataset.sharp; }
  };
  const paint = () => {
    const r = glass.getBoundingClientRect();
    k = Math.min(24, Math.max(1, k));
    x = Math.min(0, Math.max(r.width * (1 - k), x));
    y = Math.min(0, Math.max(r.height * (1 - k), y));
    if (!drawn) drawn = requestAnimationFrame(draw);
  };
  const zoom = (by, cx, cy) => {
    const to = Math.min(24, Math.max(1, k * by));
    x = cx - (cx - x) * to / k;
    y = cy - (cy - y) * to / k;
    k = to;
    paint();
  };
  const middle = (by) => { const r = glass.getBoundingClientRect(); zoom(by, r.width / 2, r.height / 2); };
  const inside = (e) => { const r = glass.getBoundingClientRect(); return [e.clientX - r.left, e.clientY - r.top]; };
  glass.addEventListener("wheel", (e) => { e.preventDefault(); zoom(Math.exp(-e.deltaY / 400), ...inside(e)); }, { passive: false });
  const down = new Map();
  let moved = 0, pinch = 0;
  glass.addEventListener("pointerdown", (e) => {
    glass.setPointerCapture(e.pointerId);
    down.set(e.pointerId, [e.clientX, e.clientY]);
    if (down.size === 1) moved = 0; else moved = 99;
    pinch = 0;
  });
  glass.addEventListener("pointermove", (e) => {
    const was = down.get(e.pointerId);
    if (!was) return;
    const dx = e.clientX - was[0], dy = e.clientY - was[1];
    down.set(e.pointerId, [e.clientX, e.clientY]);
    moved += Math.hypot(dx, dy);
    if (down.size === 1) { x += dx; y += dy; paint(); return; }
    const [a, b] = [...down.values()];
    const far = Math.hypot(a[0] - b[0], a[1] - b[1]);
    const r = glass.getBoundingClientRect();
    x += dx / 2; y += dy / 2;
    if (pinch) zoom(far / pinch, (a[0] + b[0]) / 2 - r.left, (a[1] + b[1]) / 2 - r.top);
    pinch = far;
  });
  const up = (e) => {
    if (down.delete(e.pointerId) && e.type === "pointerup" && moved < 6 && down.size === 0) tap(...inside(e));
    pinch = 0;
  };
  glass.addEventListener("pointerup", up);
  glass.addEventListener("pointercancel", up);
  glass.addEventListener("keydown", (e) => {
    const step = 60, move = { ArrowLeft: [step, 0], ArrowRight: [-step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] }[e.key];
    if (e.key === "+" || e.key === "=") middle(1.4);
    else if (e.key === "-") middle(1 / 1.4);
    else if (e.key === "0") { k = 1; x = y = 0; paint(); }
    else if (move && k > 1) { x += move[0]; y += move[1]; paint(); }
    else return;
    e.preventDefault();
  });
  const keys = document.createElement("div");
  keys.className = "glass-keys";
  for (const [label, does] of [["Larger", () => middle(1.6)], ["Smaller", () => middle(1 / 1.6)], ["Whole", () => { k = 1; x = y = 0; paint(); }]]) {
    const b = document.createElement("button");
    b.type = "button"; b.className = "b"; b.textContent = label;
    b.addEventListener("click", does);
    keys.append(b);
  }
  glass.after(keys);

  // A tap's place in pixels of the picture as seen; the SVG keeps its shape
  // inside the glass, so there is a margin on two sides.
  const form = $("#taps");
  const says = form && $("[data-tap-says]", form);
  if (says) says.textContent = "Tap two points on the photograph. Enlarge first: the closer, the truer.";
  let next = 0;
  const place = (px, py) => {
    const r = glass.getBoundingClientRect(), fit = Math.min(r.width / W, r.height / H);
    return [((px - x) / k - (r.width - W * fit) / 2) / fit, ((py - y) / k - (r.height - H * fit) / 2) / fit];
  };
  const pin = (n, px, py) => {
    for (const old of svg.querySelectorAll(`[data-pin="${n}"]`)) old.remove();
    if (!Number.isFinite(px) || !Number.isFinite(py)) return; // typed, and no number
    const s = Math.max(W, H) / 60 / k;
    for (const kind of ["pin under", "pin"]) {
      const p = document.createElementNS("http://www.w3.org/2000/svg", "path");
      p.setAttribute("class", kind);
      p.dataset.pin = n;
      p.setAttribute("d", `M${px - s} ${py}h${2 * s}M${px} ${py - s}v${2 * s}`);
      svg.append(p);
    }
  };
  const tap = (cx, cy) => {
    if (!form) return;
    const [px, py] = place(cx, cy);
    if (px < 0 || py < 0 || px > W || py > H) return;
    const n = next; next = 1 - next;
    const name = n ? "b" : "a";
    const fx = form.elements[name + "x"], fy = form.elements[name + "y"];
    if (!fx) return;
    fx.value = px.toFixed(1); fy.value = py.toFixed(1);
    pin(n, px, py);
    if (says) says.textContent = n ? "Two points. Tap again to begin anew." : "One point. Tap the other.";
  };
  for (const [n, name] of [[0, "a"], [1, "b"]]) {
    const fx = form && form.elements[name + "x"];
    if (fx && fx.value) pin(n, Number(fx.value), Number(form.elements[name + "y"].value));
  }
})();
