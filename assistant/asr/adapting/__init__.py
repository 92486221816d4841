"""What a network is told about one cook: a number for each symbol, found from sentences that are known."""
