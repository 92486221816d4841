"""Fine-tunes the weights of the phoneme network for a kitchen with a motor: makes speech, trains, evaluates.

`fine_tune` is the entry. Nothing here is imported by the product; only training needs torch.
"""
