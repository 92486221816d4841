"""Printers: receipt and label printers that speak ESC/POS, and whatever CUPS prints on."""
