// What a page of the desk does beside what htmx does: it is told when its file has
// changed, and keys press what bears them. Everything works without it, but then a
// page must be loaded anew to be up to date.
"use strict";
(() => {
  let source = null, file = null;

  const say = (text) => {
    const at = document.getElementById("live");
    if (at && at.textContent !== text) at.textContent = text;
  };

  // Asks for the page as it is now, and changes what differs: what is typed stays.
  const again = () => htmx.ajax("GET", location.pathname + location.search,
    { target: "#page", select: "#page", swap: "outerMorph" });

  const listen = () => {
    const page = document.getElementById("page");
    if (!page || (source && file === page.dataset.file && source.readyState !== EventSource.CLOSED)) return;
    if (source) source.close();
    file = page.dataset.file;
    const seen = page.dataset.seen || "";
    source = new EventSource("/live/" + file.split("/").map(encodeURIComponent).join("/") + "?seen=" + encodeURIComponent(seen));
    let first = !seen;
    source.addEventListener("changed", () => {
      if (first) { first = false; return; }
      again();
    });
    source.addEventListener("open", () => say("up to date with the file"));
    source.addEventListener("closed", () => { source.close(); say("the desk is closed: start slotcard again"); });
    source.addEventListener("error", () => say("the desk does not answer"));
  };

  document.addEventListener("keydown", (e) => {
    if (e.defaultPrevented || e.ctrlKey || e.metaKey || e.altKey) return;
    if (e.target.closest("input:not([type=radio]):not([type=checkbox]), textarea, select, [contenteditable]")) return;
    if (e.key.startsWith("Arrow") && e.target.closest("[tabindex]:not(main), [type=radio]")) return;
    const it = document.querySelector(`[data-key="${CSS.escape(e.key)}"]`);
    if (!it) return;
    e.preventDefault();
    if (it.matches("input")) it.focus(); else it.click();
  });

  document.addEventListener("DOMContentLoaded", listen);
  document.addEventListener("htmx:after:swap", listen);
})();
