"""What is in the hopper by the account, what went in and out of it, and what it leaves behind."""
