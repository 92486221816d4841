"""Setting up and looking after a station: sound devices by trying, outputs off, a file for support."""
