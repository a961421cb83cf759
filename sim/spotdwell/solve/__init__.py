"""State, clock, march and outcome: from a problem to fields, histories and a ledger."""
