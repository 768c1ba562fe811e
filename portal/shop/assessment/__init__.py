"""One assessment of an order: everything that the trade and the shop say of it, made once."""
