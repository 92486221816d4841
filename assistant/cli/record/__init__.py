"""Commands that read what was recorded: batches, sheets, labels, lots, the journal."""
