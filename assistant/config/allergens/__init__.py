"""Allergens by the two published lists, and what each ingredient and flour has of them."""
