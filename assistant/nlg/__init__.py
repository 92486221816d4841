"""Announcements in, sentences out; the wording is data in `grammar/<language>/replies.toml`.

Pure but for loading.
"""
