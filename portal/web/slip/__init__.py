"""Paper: slip, tags, manifest, sheets, as HTML and PDF."""
