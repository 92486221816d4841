"""What is recorded of a batch: commands, events, the state they lead to, and the rules of how."""
