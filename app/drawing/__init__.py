"""Plan, section and gap chart, and the language they are drawn in."""
