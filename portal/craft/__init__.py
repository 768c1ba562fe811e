"""What the trade knows: values in, values out. Nobody here knows the shop, a table or a page."""
