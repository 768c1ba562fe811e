"""PDF, printed pages and QR codes."""
