"""What may be said, by what it is about; `announcements` has the whole."""
