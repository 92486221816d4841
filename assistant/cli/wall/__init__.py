"""Commands for what hangs on the wall: the page that shows the batch, the phrase card."""
