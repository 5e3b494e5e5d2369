// Lets the clock of a running pull-down tick. Without it the page shows the time of its last load.
(() => {
  for (const el of document.querySelectorAll("[data-since]")) {
    const started = Date.parse(el.dataset.since);
    // The machine that made the page may have another clock than this one.
    const skew = Date.now() - Date.parse(el.dataset.now);
    const show = () => {
      const s = Math.max(0, Math.floor((Date.now() - skew - started) / 1000));
      const m = Math.floor(s / 60);
      el.textContent = (m >= 600 ? Math.floor(m / 60) + " h" : m + ":" + String(s % 60).padStart(2, "0"));
    };
    show();
    setInterval(show, 1000);
  }
})();
