// True millimetres on this screen, once a bank card (ISO/IEC 7810 ID-1, 85.60 x 53.98 mm) has been laid on it.

const KEY = "guide-screen";
const [CARD_MM, CARD_DOWN_MM] = [85.6, 53.98];

// CSS pixels in a millimetre, or 0 where nobody has set it. Zooming changes how many there are.
function pixelsPerMm() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY));
    return kept && kept.perMm > 1 && kept.perMm < 40 ? (kept.perMm * kept.ratio) / devicePixelRatio : 0;
  } catch {
    return 0;
  }
}

// Give everything that has a size in mm that size.
export function keepTrue() {
  const perMm = pixelsPerMm();
  const sheets = document.getElementById("true-sheets")?.checked && perMm > 0;
  document.body.classList.toggle("true", perMm > 0);
  document.body.classList.toggle("true-sheets", sheets);
  for (const element of document.querySelectorAll("[data-mm]")) {
    const sized = element.localName === "div" ? element.firstElementChild : element;
    const wanted = perMm > 0 && (element.localName !== "img" || sheets);
    sized.style.width = wanted ? `${element.dataset.mm * perMm}px` : "";
    sized.style.maxWidth = wanted ? "none" : "";
    if (sized.localName === "svg") sized.style.height = wanted ? "auto" : "";
  }
  for (const words of document.querySelectorAll(".scale")) {
    words.textContent = perMm > 0 ? words.dataset.true : words.dataset.not;
  }
  const box = document.getElementById("true-sheets");
  if (box) box.disabled = perMm === 0;
  outline(document.getElementById("card-slider"), perMm);
}

function outline(slider, perMm) {
  if (!slider || slider.dataset.set) return;
  slider.dataset.set = "1";
  if (perMm > 0) slider.value = perMm;
  draw(slider);
}

function draw(slider) {
  const card = slider.parentElement.querySelector(".card");
  const room = slider.parentElement.clientWidth || document.documentElement.clientWidth;
  card.classList.toggle("upright", room < CARD_MM * slider.value && room >= CARD_DOWN_MM * slider.value * 0.9);
  card.style.setProperty("--card", `${slider.value}px`);
}

export function startScale(say) {
  document.addEventListener("input", (event) => {
    if (event.target.id === "card-slider") draw(event.target);
    if (event.target.id === "true-sheets") keepTrue();
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button?.id === "card-fits") {
      const perMm = Number(document.getElementById("card-slider").value);
      localStorage.setItem(KEY, JSON.stringify({ perMm, ratio: devicePixelRatio }));
    } else if (button?.id === "card-forget") {
      localStorage.removeItem(KEY);
    } else {
      return;
    }
    keepTrue();
    say(button.dataset.said);
  });
  addEventListener("resize", keepTrue);
  document.addEventListener("toggle", (event) => {
    const slider = event.target.id === "screen" && document.getElementById("card-slider");
    if (slider) draw(slider);
  }, true);
}
