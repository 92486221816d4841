"""The pages in a real browser: Debian's Chromium without a window, driven by Playwright."""
