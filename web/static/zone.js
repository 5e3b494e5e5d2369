// Puts this device's time zone where nobody said one yet. Without this script it is chosen from the list or typed.
(() => {
  for (const el of document.querySelectorAll("input[data-zone]")) {
    // As the page's own value: it is not something that was typed.
    if (!el.value) el.setAttribute("value", Intl.DateTimeFormat().resolvedOptions().timeZone ?? "");
  }
})();
