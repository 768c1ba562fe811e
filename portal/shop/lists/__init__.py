"""Lists of sets that a garage sends in one go: pasted or as a spreadsheet, read row by row."""
