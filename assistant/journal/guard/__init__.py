"""What keeps the record true: verification, what is set aside, what is saved of a broken file, copies."""
