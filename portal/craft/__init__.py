"""What the trade knows: values in, values out. This package knows no shop, table or page."""
