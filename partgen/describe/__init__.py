"""The description: what was measured or wished, validated, nothing worked out."""
