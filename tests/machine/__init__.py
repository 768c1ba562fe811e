"""Any verb at any moment: drawn by hypothesis, played on a works, held against a simple model."""
