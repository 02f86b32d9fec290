"use strict";
// How old the newest photo is on the day the page is opened. Without a script its date alone is there.
(() => {
  const now = new Date();
  const today = Date.UTC(now.getFullYear(), now.getMonth(), now.getDate());
  const ago = new Intl.RelativeTimeFormat(document.documentElement.lang, { numeric: "auto" });
  const daysSince = (iso) => Math.round((today - Date.parse(iso)) / 864e5);
  for (const line of document.querySelectorAll("[data-newest]")) {
    const days = daysSince(line.dataset.newest);
    if (days < 0) continue;  // a clock that is wrong
    line.querySelector("span").textContent = `, ${days > 1 ? ago.format(-days, "day") : days === 1 ? t("yesterday") : t("today")}`;
    line.classList.toggle("old", days > Number(line.dataset.old ?? 10));
    line.dataset.then = t("What stands here is as old.");
  }
  for (const figure of document.querySelectorAll("[data-due]")) {
    const days = daysSince(figure.dataset.due);
    if (days >= 0) figure.textContent = days === 0 ? t("today") : t("now");
  }
})();
