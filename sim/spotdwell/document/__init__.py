"""Documents: one model of what a page says, printed as HTML, Markdown and paper."""
