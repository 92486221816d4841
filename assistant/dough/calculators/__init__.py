"""What is reckoned beside a batch: no batch uses it, the commands of the program do."""
