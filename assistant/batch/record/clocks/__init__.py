"""The clocks of food safety: which rules a kitchen keeps, and what runs against them."""
