"""Cards of test shots: the settings asked for, solved, and printed as paper, page and table."""
