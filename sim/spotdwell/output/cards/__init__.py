"""Cards of test shots: one data object, printed as PDF, HTML and CSV."""
