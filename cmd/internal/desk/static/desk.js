// What a page of the desk does beside what htmx does: it is told when its file has
// changed, and keys press what bears them. Everything works without it, but then a
// page must be loaded anew to be up to date.
"use strict";
(() => {
  let source = null, file = null, scanned = false, state = "";

  // How it stands with the desk is said by every page that follows, too.
  const say = (text, once) => {
    const at = document.getElementById("live");
    if (!once) state = text;
    if (at && at.textContent !== text) at.textContent = text;
  };

  // Asks for the page as it is now, and changes what differs: what is typed stays.
  // A screen that is being filled in shows nothing of the file, and stays; so does one
  // with something typed that is not saved.
  const unsaved = () => [...document.querySelectorAll("main :is(input, textarea)")].some((i) =>
    !["hidden", "file", "checkbox", "radio", "submit"].includes(i.type) && i.value !== i.defaultValue);
  const again = () => {
    if (document.querySelector("[data-still]")) return;
    if (unsaved()) { say("the file has changed: what you typed here is not saved yet", true); return; }
    htmx.ajax("GET", location.pathname + location.search,
    { target: "#page", select: "#page", swap: "outerMorph", request: { headers: { "X-Again": String(edits) } } });
  };
  // What was asked for before a change was sent is older than what answers the change: it
  // is no longer wanted when it comes, nor when the browser has gone on to another page.
  let edits = 0;
  document.addEventListener("submit", (e) => { if (e.target.method === "post") edits++; }, true);
  document.addEventListener("htmx:before:swap", (e) => {
    const r = e.detail && e.detail.ctx && e.detail.ctx.request;
    if (r && r.headers && r.headers["X-Again"] && (r.headers["X-Again"] !== String(edits) || r.action !== location.pathname + location.search)) e.preventDefault();
  });

  const listen = () => {
    const page = document.getElementById("page");
    if (!page || document.hidden || (source && file === page.dataset.file && source.readyState !== EventSource.CLOSED)) return;
    if (source) source.close();
    file = page.dataset.file;
    const seen = page.dataset.seen || "";
    source = new EventSource("/live/" + file.split("/").map(encodeURIComponent).join("/") + "?seen=" + encodeURIComponent(seen));
    source.addEventListener("changed", again);
    source.addEventListener("open", () => say("up to date with the file"));
    source.addEventListener("closed", () => { source.close(); say("the desk is closed: start slotcard again"); });
    source.addEventListener("error", () => say("the desk does not answer"));
  };

  // A page that nobody looks at holds no connection, but says that it is open.
  let hidden = 0;
  document.addEventListener("visibilitychange", () => {
    clearInterval(hidden);
    if (!document.hidden) { listen(); return; }
    if (source) source.close();
    const still = () => fetch("/live/?hidden").catch(() => {});
    still();
    hidden = setInterval(still, 30000);
  });

  document.addEventListener("keydown", (e) => {
    if (e.defaultPrevented || e.ctrlKey || e.metaKey || e.altKey) return;
    if (e.target.closest("input:not([type=radio]):not([type=checkbox]), textarea, select, [contenteditable]")) return;
    if (e.key.startsWith("Arrow") && e.target.closest("[tabindex]:not(main), [type=radio]")) return;
    if (document.getElementById("page").dataset.keys === "off") return;
    const view = document.querySelector("nav.views [aria-current]");
    if (e.key === "v" && view) { e.preventDefault(); view.focus(); return; }
    const it = document.querySelector(`[data-key="${CSS.escape(e.key)}"]`);
    if (!it) return;
    e.preventDefault();
    if (it.matches("input")) it.focus(); else it.click();
  });

  const send = (input) => input.form.requestSubmit(input.form.querySelector("button[name=do]"));

  // A keyboard scanner types a list line by line: it is sent when it is whole. A number,
  // or a word, is sent by its own line end.
  document.addEventListener("keydown", (e) => {
    if (e.key !== "Enter" || e.shiftKey || !e.target.matches("[data-scan]")) return;
    const lines = e.target.value.trim().split("\n");
    if (lines[0].startsWith("SLOTS") && !lines[lines.length - 1].startsWith("=")) return;
    e.preventDefault();
    scanned = true;
    send(e.target);
  });

  // A box that is answered as it is typed: the choices come by themselves, Enter sends.
  let typing = 0;
  document.addEventListener("input", (e) => {
    if (!e.target.matches("[data-typed]")) return;
    const input = e.target;
    clearTimeout(typing);
    typing = setTimeout(() => {
      if (!document.contains(input)) return;
      const stay = input.dataset.typed && !input.value.trim() ? "&" + input.dataset.typed : ""; // of a section
      htmx.ajax("GET", location.pathname + "?q=" + encodeURIComponent(input.value) + stay, { target: "#choices", select: "#choices", swap: "outerMorph" });
    }, 120);
  });

  // Escape empties the box, then leaves it; it closes a form that was opened in a list.
  document.addEventListener("keydown", (e) => {
    const leave = document.querySelector("[data-escape]");
    if (e.key !== "Escape" || e.defaultPrevented) return;
    if (e.target.matches("[data-typed]") && !e.target.value) {
      e.target.blur();
    } else if (e.target.matches("[data-typed]")) {
      e.target.value = "";
      e.target.dispatchEvent(new Event("input", { bubbles: true }));
    } else if (leave) {
      leave.click();
    } else if (e.target.matches("main :is(input, textarea, select)")) {
      e.target.blur();
    } else if (document.querySelector("[data-typed]")) {
      document.querySelector("[data-typed]").focus();
    } else return;
    e.preventDefault();
  });

  // What stands in the box goes along: the page that follows shows the same.
  document.addEventListener("submit", (e) => {
    const q = e.target.querySelector("input[type=hidden][name=q]"), box = document.querySelector("[data-typed]");
    if (q && box) q.value = box.value;
  }, true);

  // A channel of a load is moved in its group with Alt, and deleted: by the page's form.
  document.addEventListener("keydown", (e) => {
    const row = e.target.closest("[data-was]"), form = document.querySelector("[data-rowform]");
    const way = e.altKey ? { ArrowUp: "up", ArrowDown: "down" }[e.key] : e.key === "Delete" ? "delete" : null;
    if (!row || !form || !way || e.ctrlKey || e.metaKey) return;
    e.preventDefault();
    e.stopImmediatePropagation();
    if (way !== "delete" && row.dataset.moves === undefined) return;
    form.elements.i.value = row.dataset.i;
    form.elements.was.value = row.dataset.was;
    form.querySelector(`button[value="${way}"]`).click();
  }, true);

  // Rows that are gone through by arrows, given to a division by its letter, moved
  // with Alt, and deleted. Every key presses a button that is there.
  const stepTo = (list, from, by) => {
    const next = list[list.indexOf(from) + by];
    if (next) next.focus();
    return !!next;
  };
  const moveTo = (row, to, press) => {
    row.querySelector("[data-to]").value = to;
    press.click();
  };
  document.addEventListener("keydown", (e) => {
    const t = e.target, step = { ArrowUp: -1, ArrowDown: 1 }[e.key];
    if (e.defaultPrevented || e.ctrlKey || e.metaKey) return;
    const rows = [...document.querySelectorAll("[data-row]")];
    const picks = [...document.querySelectorAll("[data-pick]:not(:disabled)")];
    if (t.matches("[data-typed]") && e.key === "ArrowDown") {
      const first = picks[0] || rows[0];
      if (first) { e.preventDefault(); first.focus(); }
    } else if (t.matches("[data-pick]") && step) {
      e.preventDefault();
      const box = document.querySelector("[data-typed]");
      if (!stepTo(picks, t, step) && step < 0 && box) box.focus();
    } else if (t.matches("[data-row]") && step) {
      e.preventDefault();
      if (e.altKey) {
        const press = t.querySelector(step < 0 ? "[data-up]" : "[data-down]");
        moveTo(t, +t.dataset.i + step, press);
      } else if (!stepTo(rows, t, step) && step < 0 && document.querySelector("[data-typed]")) document.querySelector("[data-typed]").focus();
    } else if (t.matches("[data-row]") && e.key === "Delete") {
      e.preventDefault();
      t.querySelector("[data-delete]").click();
    } else if (t.matches("main, body") && e.key === "ArrowDown" && rows.length) {
      e.preventDefault();
      rows[0].focus();
    } else if (t.matches("[data-row]") && !e.altKey && e.key.length === 1 && !(e.shiftKey && document.querySelector(`[data-key="${CSS.escape(e.key)}"]`))) {
      const letter = [...t.querySelectorAll("[data-letter]")].find((b) => b.dataset.letter.toUpperCase() === e.key.toUpperCase());
      if (letter) { e.preventDefault(); e.stopImmediatePropagation(); letter.click(); }
    } else if (t.matches("form.typed input") && step && rows.length) { // a form below its rows
      e.preventDefault();
      rows[step < 0 ? rows.length - 1 : 0].focus();
    } else if (t.matches("nav.views a") && (e.key === "ArrowLeft" || e.key === "ArrowRight")) {
      e.preventDefault();
      stepTo([...document.querySelectorAll("nav.views a")], t, e.key === "ArrowLeft" ? -1 : 1);
    } else if (t.matches("nav.views a") && e.key === "ArrowDown") {
      e.preventDefault();
      document.getElementById("main").focus();
    } else if (t.matches("[data-grid] [data-row] [data-col]") && step && e.altKey) {
      e.preventDefault();
      const row = t.closest("[data-row]");
      if (unsaved()) say("save what you typed first, then move the row");
      else moveTo(row, +row.dataset.i + step, row.querySelector(step < 0 ? "[data-up]" : "[data-down]"));
    } else if (t.matches("[data-grid] [data-col]") && step) {
      e.preventDefault();
      stepTo([...document.querySelectorAll(`[data-grid] [data-col="${t.dataset.col}"]`)], t, step);
    }
  }, true);
  document.addEventListener("click", (e) => {
    const press = e.target.closest("[data-up], [data-down]"), row = e.target.closest("[data-row]");
    if (press && row && row.querySelector("[data-to]").value === "") {
      row.querySelector("[data-to]").value = +row.dataset.i + (press.matches("[data-up]") ? -1 : 1);
    }
  }, true);
  // A row is dragged to its place; a tactical onto a division, at its row or in the ring.
  let dragged = null;
  document.addEventListener("dragstart", (e) => { dragged = e.target.closest ? e.target.closest("[draggable]") : null; });
  const areaAt = (e) => [...document.querySelectorAll(".slotcard-area[data-line]")].find((a) => {
    const r = a.getBoundingClientRect();
    return e.clientX >= r.left && e.clientX <= r.right && e.clientY >= r.top && e.clientY <= r.bottom;
  });
  const divisionOf = (area) => area && document.querySelector(`[data-row][data-line="${area.dataset.line}"]`);
  const divisionAt = (e) => e.target.closest("[data-row]") || divisionOf(areaAt(e));
  const target = (e) => dragged && (dragged.matches("[data-letter]") ? divisionAt(e) : e.target.closest("[data-row]"));
  document.addEventListener("dragover", (e) => { if (target(e)) e.preventDefault(); });
  document.addEventListener("drop", (e) => {
    const on = target(e);
    if (!on) return;
    e.preventDefault();
    if (!dragged.matches("[data-letter]")) {
      if (on !== dragged) moveTo(dragged, +on.dataset.i, dragged.querySelector("[data-up]"));
    } else {
      const own = on.querySelector(`[data-letter="${dragged.dataset.letter}"]`);
      if (own.getAttribute("aria-pressed") === "true") say("that division talks on it already");
      else own.click();
    }
    dragged = null;
  });

  // In the ring a division is dragged to the place of another: with a mouse or pen, for a
  // finger moves the page.
  let carried = null;
  const drop = () => {
    document.querySelectorAll(".slotcard-area[data-over]").forEach((a) => a.removeAttribute("data-over"));
    if (carried) carried.closest(".look").removeAttribute("data-carries");
    carried = null;
  };
  document.addEventListener("pointerdown", (e) => {
    const area = e.pointerType !== "touch" && e.button === 0 && e.target.closest("[data-ring]") && areaAt(e);
    if (!area || !divisionOf(area)) return;
    e.preventDefault(); // no text is selected
    carried = area;
  });
  document.addEventListener("pointermove", (e) => {
    if (!carried) return;
    const over = areaAt(e);
    document.querySelectorAll(".slotcard-area[data-over]").forEach((a) => { if (a !== over) a.removeAttribute("data-over"); });
    carried.closest(".look").setAttribute("data-carries", "");
    if (over && divisionOf(over)) over.setAttribute("data-over", "");
  });
  document.addEventListener("pointerup", (e) => {
    const from = divisionOf(carried), to = carried && divisionOf(areaAt(e));
    drop();
    if (!from || !to || from === to) return;
    if (unsaved()) say("save what you typed first, then move the division", true);
    else moveTo(from, +to.dataset.i, from.querySelector("[data-up]"));
  });
  document.addEventListener("pointercancel", drop);

  // Cells of a spreadsheet that are pasted into the table go to the form for them, with
  // where. A spreadsheet gives its cells as a table of HTML, too: there a cell with a
  // line break is still one cell.
  const tableText = (html) => {
    const table = new DOMParser().parseFromString(html, "text/html").querySelector("table");
    if (!table) return "";
    table.querySelectorAll("br").forEach((br) => br.replaceWith(" "));
    return [...table.rows].map((r) => [...r.cells].flatMap((c) =>
      [c.textContent.replace(/\s+/g, " ").trim(), ...Array(c.colSpan - 1).fill("")]).join("\t")).join("\n");
  };
  document.addEventListener("paste", (e) => {
    const form = document.querySelector("[data-paste]");
    if (!form || !e.target.matches("[data-grid] [data-col]")) return;
    const text = tableText(e.clipboardData.getData("text/html")) || e.clipboardData.getData("text/plain");
    if (!/[\t\n]/.test(text.trim())) return;
    e.preventDefault();
    const row = e.target.closest("[data-row]");
    form.elements.cells.value = text;
    form.elements.from.value = e.target.dataset.col;
    form.elements.row.value = row ? row.dataset.i : "";
    form.requestSubmit(form.querySelector("button[name=do]"));
  });

  // Rows of the table go to a spreadsheet as tab-separated text and as a table of HTML.
  const take = (rows) => {
    const text = rows.map((r) => r.map((c) => c.replace(/\s+/g, " ")).join("\t")).join("\n") + "\n";
    const html = "<table>" + rows.map((r) => "<tr>" + r.map((c) => `<td>${new Option(c).innerHTML}</td>`).join("") + "</tr>").join("") + "</table>";
    const blob = (kind, s) => new Blob([s], { type: kind });
    navigator.clipboard.write([new ClipboardItem({ "text/plain": blob("text/plain", text), "text/html": blob("text/html", html) })])
      .then(() => say("copied"), (problem) => say("not copied: " + problem.message));
  };
  const cellsOf = (row) => [...row.querySelectorAll("[data-col]")].map((i) => i.value);
  document.addEventListener("click", (e) => {
    if (!e.target.closest("[data-copy]")) return;
    const grid = document.querySelector("[data-grid]");
    const titles = [...grid.querySelectorAll("thead th")].slice(0, -1).map((th) => th.firstChild.textContent.trim());
    take([titles, ...[...grid.querySelectorAll("[data-row]")].map(cellsOf)]);
  });
  document.addEventListener("keydown", (e) => {
    if (e.key.toLowerCase() !== "c" || !(e.ctrlKey || e.metaKey) || !e.target.matches("[data-grid] [data-row]")) return;
    e.preventDefault();
    take([cellsOf(e.target)]);
  });

  // A picture is sent as soon as it is chosen or dropped.
  document.addEventListener("change", (e) => {
    if (e.target.matches("[data-send]") && e.target.files.length) send(e.target);
  });

  // The camera, where the browser has one. It is off as soon as the picture is taken.
  let stream = null;
  const off = () => { if (stream) stream.getTracks().forEach((t) => t.stop()); stream = null; };
  const offer = () => {
    if (!navigator.mediaDevices || !navigator.mediaDevices.getUserMedia) return;
    document.querySelectorAll("[data-camera]").forEach((b) => { b.hidden = false; });
  };
  document.addEventListener("click", async (e) => {
    const form = e.target.closest("form");
    if (e.target.closest("[data-camera]")) {
      try {
        stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 1920 } } });
      } catch (problem) {
        say("the camera cannot be used: " + problem.message, true);
        return;
      }
      const view = form.querySelector("[data-view]"), video = view.querySelector("video");
      view.hidden = false;
      video.srcObject = stream;
      video.play();
    } else if (e.target.closest("[data-shoot]")) {
      const video = form.querySelector("video"), canvas = document.createElement("canvas");
      canvas.width = video.videoWidth;
      canvas.height = video.videoHeight;
      canvas.getContext("2d").drawImage(video, 0, 0);
      off();
      form.querySelector("[data-view]").hidden = true;
      canvas.toBlob((blob) => {
        const files = new DataTransfer();
        files.items.add(new File([blob], "camera.jpg", { type: "image/jpeg" }));
        const input = form.querySelector("[data-send]");
        input.files = files.files;
        send(input);
      }, "image/jpeg", 0.92);
    }
  });
  window.addEventListener("pagehide", off);

  // A dialog counts anew as soon as something in it is chosen.
  document.addEventListener("change", (e) => {
    const form = e.target.closest("form[data-live]");
    if (form) form.requestSubmit();
  });

  // What a column holds is looked at again as soon as it is chosen.
  document.addEventListener("change", (e) => {
    if (e.target.matches("[data-now]")) e.target.form.requestSubmit(e.target.form.querySelector("[data-again]"));
  });

  // The focus stays where it was while a page changes: on the same row, box or button,
  // or, where that is gone, on the row that stands in its place.
  let held = null;
  const here = () => { const p = document.getElementById("page"); return p.dataset.view + " " + p.dataset.file; };
  const within = (e) => e.closest("main [id]:not(#main)") || document.getElementById("main");
  const alike = (e) => {
    const key = ["name", "value", "data-col", "data-key", "aria-label", "href"].find((k) => e.hasAttribute(k) && (k !== "value" || e.matches("button")));
    const named = (k) => `[${k}="${CSS.escape(e.getAttribute(k))}"]`;
    return e.localName + (key ? named(key) : "") + (key === "name" && e.matches("button") ? named("value") : "");
  };
  const hold = () => {
    const e = document.activeElement, row = e.closest("[data-row]");
    held = { where: here(), e };
    if (!e.closest("main") || e.id === "main") return;
    const home = within(e), like = alike(e);
    Object.assign(held, { id: e.id, home: home.id, like, n: [...home.querySelectorAll(like)].indexOf(e), row: row && [...document.querySelectorAll("[data-row]")].indexOf(row) });
  };
  // A page may lead the focus to what has opened in it, once.
  let led = "";
  const release = () => {
    const lead = document.querySelector("[data-focus]"), to = lead ? lead.dataset.focus : "";
    const fresh = to !== led;
    led = to;
    if (lead && fresh) { lead.focus(); return; }
    if (!held || held.where !== here()) return;
    const { e, id, like, n, row } = held, still = document.contains(e);
    const rows = document.querySelectorAll("[data-row]"), home = document.getElementById(held.home);
    const back = !like ? still && e
      : (id && document.getElementById(id)) || (still && e.matches(like) && within(e).id === held.home && e)
      || (home && home.id !== id && home.querySelectorAll(like)[n]) || (row !== null && rows[Math.min(row, rows.length - 1)]);
    if (back === document.body) document.activeElement.blur(); // htmx goes to what has autofocus
    else if (back && back !== document.activeElement) back.focus({ preventScroll: still });
  };
  document.addEventListener("htmx:before:swap", hold);

  // What was sent is done: its fields are as the page that follows has them, ready for
  // the next, but for what was typed meanwhile. The box of channels is empty at once.
  // Where it was refused, the page says so, and nothing that was typed is lost.
  // After something was added, the first field waits for the next.
  let sent = null, adds = false;
  const typedIn = (form) => [...form.elements].filter((i) => i.matches("input, textarea") && !["hidden", "file", "submit", "radio"].includes(i.type));
  document.addEventListener("submit", (e) => {
    if (e.target.method !== "post") return;
    sent = typedIn(e.target).map((i) => [i, i.type === "checkbox" ? i.checked : i.value]);
    adds = [...e.target.elements].some((i) => i.matches('[data-key="/"]'));
  }, true);
  document.addEventListener("htmx:before:request", (e) => {
    const box = e.target.matches && e.target.matches("form") && e.target.method === "post" && e.target.querySelector("[data-typed]");
    if (box) box.value = "";
  });
  const settle = () => {
    const refused = document.querySelector("main [role=alert]");
    for (const [i, was] of sent || []) {
      if (!document.contains(i)) continue;
      const check = i.type === "checkbox", now = check ? i.checked : i.value;
      if (now !== was && !(i.matches("[data-typed]") && now === "")) continue;
      if (check) i.checked = refused ? was : i.defaultChecked; else i.value = refused ? was : i.defaultValue;
    }
    const next = document.querySelector('[data-key="/"]');
    if (adds && !refused && next && held && held.where === here()) {
      held = null;
      next.focus();
    }
    sent = null;
    adds = false;
  };

  // What the trade means by a field opens below it: F1 in the field, or the "?" beside
  // it. The words stand in the list at the foot of the page.
  const named = "main :is(input:not([type=hidden]), select, textarea)[name]";
  const helpName = (f) => (f.dataset.help || f.name || "").replace(/\d+$/, "");
  const helpOf = (f) => document.querySelector(`[data-help-of="${CSS.escape(helpName(f))}"]`);
  let helped = null;
  const help = (field) => {
    const old = document.getElementById("help-text");
    if (old) (old.closest("tr.help-row") || old).remove();
    document.querySelectorAll(".ask[aria-expanded=true]").forEach((b) => b.setAttribute("aria-expanded", "false"));
    const of = helpOf(field), again = old && helped === field;
    helped = null;
    if (!of || again) return;
    helped = field;
    const text = document.createElement("div"), row = field.closest("tr");
    text.id = "help-text";
    text.setAttribute("role", "status");
    text.append(...[...of.querySelector("dd").children].map((p) => p.cloneNode(true)));
    let at = field.closest("label") || field;
    if (at.nextElementSibling && at.nextElementSibling.matches(".ask")) {
      at = at.nextElementSibling;
      at.setAttribute("aria-expanded", "true");
    }
    if (row) {
      const line = document.createElement("tr"), cell = document.createElement("td");
      line.className = "help-row";
      cell.colSpan = row.cells.length;
      cell.append(text);
      line.append(cell);
      row.after(line);
    } else if (at.parentElement.matches(".typed, .find")) at.parentElement.append(text);
    else at.after(text);
  };
  document.addEventListener("keydown", (e) => {
    if (e.key !== "F1" || e.ctrlKey || e.metaKey || e.altKey) return;
    const list = document.getElementById("helps");
    if (!list) return;
    e.preventDefault();
    if (e.target.matches(named) && helpOf(e.target)) { help(e.target); return; }
    list.open = !list.open;
    if (list.open) list.querySelector("summary").focus();
  });
  document.addEventListener("click", (e) => {
    const ask = e.target.closest(".ask");
    if (ask) help(ask.asks);
  });
  // A name in the rows of a table or list has no "?" of its own in each of them.
  const questions = () => {
    const list = document.getElementById("helps"), seen = new Set();
    if (!list) return;
    const mark = (field, title, put) => {
      if (seen.has(helpName(field)) || !helpOf(field)) return;
      seen.add(helpName(field));
      const b = document.createElement("button");
      b.type = "button";
      b.className = "ask";
      b.tabIndex = -1; // F1 in the field does the same, and no Tab is lost
      b.textContent = "?";
      b.asks = field;
      b.setAttribute("aria-label", "What it means: " + title.trim());
      b.setAttribute("aria-expanded", "false");
      put(b);
    };
    document.querySelectorAll("main .ask").forEach((b) => b.remove());
    document.querySelectorAll("main th[data-help]").forEach((th) => mark(th, th.textContent, (b) => th.append(" ", b)));
    const there = new Set([...document.querySelectorAll(named)].map(helpName));
    document.querySelectorAll("main [data-help]").forEach((h) => there.add(helpName(h)));
    document.querySelectorAll(named).forEach((f) => {
      if (f.closest("td, th, [data-row]")) return;
      const at = f.closest("label") || f, label = f.labels && f.labels[0];
      mark(f, label ? label.textContent : f.name, (b) => at.after(b));
    });
    list.querySelectorAll("[data-help-of]").forEach((d) => { d.hidden = !there.has(d.dataset.helpOf); });
    list.hidden = !list.querySelector("[data-help-of]:not([hidden])");
  };

  // A sheet that is pasted beside any field, or dropped, is drafted: on the page for it at
  // once, from another page by way of that one.
  const sheetForm = () => document.querySelector("form[data-sheet]");
  const readSheet = (form) => form.requestSubmit(form.querySelector("button[name=do]"));
  document.addEventListener("paste", (e) => {
    const text = e.clipboardData.getData("text/plain"), form = sheetForm();
    if (e.defaultPrevented || e.target.closest("input, textarea, select") || (!form && document.querySelector("main textarea, [data-unseen]"))) return;
    if (!/\n/.test(text.trim()) || !/\d\.\d{2,}/.test(text)) return;
    e.preventDefault();
    if (!form) {
      sessionStorage.setItem("sheet", text);
      location.assign("/draft/");
      return;
    }
    form.elements.text.value = text;
    readSheet(form);
  });
  document.addEventListener("dragover", (e) => { if (sheetForm() && e.dataTransfer.types.includes("Files")) e.preventDefault(); });
  document.addEventListener("drop", (e) => {
    const form = sheetForm();
    if (!form || !e.dataTransfer.files.length) return;
    e.preventDefault();
    form.elements.file.files = e.dataTransfer.files;
    readSheet(form);
  });

  // Nobody leaves a sheet with cells that were not read and not looked at: what leads
  // away goes to the next of them.
  document.addEventListener("click", (e) => {
    const away = e.target.closest("a[href]:not(.skip)");
    if (!away || !document.querySelector("[data-unseen]")) return;
    e.preventDefault();
    e.stopImmediatePropagation();
    document.querySelector("[data-goon]").click();
  }, true);
  let stays = false; // what was sent leads back here
  document.addEventListener("submit", () => { stays = true; setTimeout(() => { stays = false; }, 1000); }, true);
  window.addEventListener("beforeunload", (e) => { if (!stays && document.querySelector("[data-unseen]")) e.preventDefault(); });
  const takeSheet = () => {
    const form = sheetForm(), text = sessionStorage.getItem("sheet");
    sessionStorage.removeItem("sheet");
    if (form && text) {
      form.elements.text.value = text;
      readSheet(form);
    }
    const now = document.querySelector(".drafted .now, .drafted [data-key=s]");
    if (now) now.scrollIntoView({ block: "nearest" });
  };

  const begin = () => {
    settle();
    release();
    say(state);
    listen();
    offer();
    questions();
    takeSheet();
    const scan = document.querySelector("[data-scan]");
    if (scan && scanned) {
      scanned = false;
      scan.value = "";
      scan.focus();
    }
  };
  document.addEventListener("DOMContentLoaded", begin);
  document.addEventListener("htmx:after:swap", begin);
})();
