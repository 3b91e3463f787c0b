"""The report: one builder (content), many forms (page, plain text, PDF)."""
