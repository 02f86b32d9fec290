"use strict";
// Lets a phone in, by a code that it photographs.
Shelf.phone = (() => {
  const { button, make, send, t } = Shelf;
  const place = make("div", { className: "invite" });
  const ask = async () => {
    try {
      const said = await send("invitation", {});
      const code = document.importNode(new DOMParser().parseFromString(said.svg, "image/svg+xml").documentElement, true);
      code.setAttribute("role", "img");
      code.setAttribute("aria-label", t("The address as a QR code"));
      place.replaceChildren(
        make("h3", { tabIndex: -1 }, t("Let a phone in")),
        make("p", {}, t("Point the phone's camera at this and open what it shows. The phone must be in the same network. It lets in one phone, once, within ten minutes.")),
        code,
        make("p", {}, t("Or type it there:"), " ", make("code", {}, said.address)),
        make("p", { className: "soft" }, t("What is sent in the network is not encrypted: your own network only.")),
        button(t("Close"), () => { place.replaceChildren(); open.focus(); }));
      place.querySelector("h3").focus();
    } catch (error) {
      place.replaceChildren(make("p", { className: "wrong", role: "alert" }, error.message));
    }
  };
  const open = button(t("Let a phone in"), ask, { hidden: true });
  return { open, place, show: (state) => (open.hidden = !state.may_invite), inUse: () => place.querySelector("svg") !== null };
})();
