"""What the office keeps: documents, people, powders, export, retention."""
