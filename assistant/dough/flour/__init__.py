"""What a lot's batches teach beside its mean: how cooks judge, how wide ready is, how it moved."""
