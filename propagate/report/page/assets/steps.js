// Steps of an opening: all beside each other, or one after the other.

function setUpSteps() {
  for (const opening of all(".opening")) {
    const list = opening.querySelector(".steps");
    const items = [...list.children];
    const buttons = all("[data-step]", opening);
    let at = 0;
    const show = (one) => {
      list.classList.toggle("is-all", !one);
      items.forEach((item, i) => item.classList.toggle("is-shown", i === at));
      buttons.find((button) => button.dataset.step === "0").setAttribute("aria-pressed", String(!one));
    };
    for (const button of buttons) {
      button.addEventListener("click", () => {
        const step = Number(button.dataset.step);
        if (!step) show(list.classList.contains("is-all"));
        else {
          at = list.classList.contains("is-all") ? (step > 0 ? 0 : items.length - 1) : (at + step + items.length) % items.length;
          show(true);
        }
      });
    }
    list.setAttribute("aria-live", "polite");
    show(false);
  }
}

