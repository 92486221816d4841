"""What the ear was never taught: any word, anybody. `python -m tests.bench.ear`"""
