// Questions: each folded over its answer, so that one can think first; on paper, those stand open that are open here.

function addQuestions(set) {
  byId("asked").append(...map.questions.map((question) => {
    const answer = element("div", { class: "answer" }, element("p", {}, question.answer));
    if (question.a && question.b) {
      const both = element("button", { type: "button" }, "Set A and B to it");
      both.addEventListener("click", () => set(question.a, question.b));
      answer.append(element("div", { class: "tools" }, both));
    }
    const fold = element("details", {}, element("summary", {}, question.text), answer);
    fold.addEventListener("toggle", showFolds);
    return element("li", {}, fold);
  }));
  byId("unfold").addEventListener("click", () => {
    const open = !folds().every((fold) => fold.open);
    folds().forEach((fold) => { fold.open = open; });
    showFolds();
  });
  window.addEventListener("beforeprint", showFolds); // Folds say that they were opened a moment after.
  showFolds();
}

const folds = () => [...byId("asked").querySelectorAll("details")];

// Answers take a sheet of their own; questions alone fit below the drawing.
function showFolds() {
  document.body.classList.toggle("answered", folds().some((fold) => fold.open));
  byId("unfold").textContent = folds().every((fold) => fold.open) ? "Fold all answers" : "Open all answers";
}
