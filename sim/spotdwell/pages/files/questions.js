// Questions: those that the map answers, with their answers to be shown, and open ones.

function addQuestions(set) {
  byId("asked").append(...map.questions.map((question, number) => {
    const entry = element("li", {}, element("p", {}, question.text));
    if (!question.answer) {
      entry.append(element("p", { class: "small" }, "Open: the page has no answer."));
      return entry;
    }
    const id = `answer-${number}`;
    const answer = element("p", { id, class: "answer", hidden: true }, question.answer);
    const show = element("button", { type: "button", "aria-expanded": "false", "aria-controls": id }, "Show the answer");
    show.addEventListener("click", () => {
      answer.hidden = !answer.hidden;
      show.setAttribute("aria-expanded", String(!answer.hidden));
      show.textContent = answer.hidden ? "Show the answer" : "Hide the answer";
    });
    const buttons = element("div", { class: "tools" }, show);
    if (question.a && question.b) {
      const both = element("button", { type: "button" }, "Set A and B to it");
      both.addEventListener("click", () => set(question.a, question.b));
      buttons.append(both);
    }
    entry.append(buttons, answer);
    return entry;
  }));
}
