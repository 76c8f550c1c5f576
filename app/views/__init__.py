"""The drawings: plan, cut and gap chart, and the one drawing language that they and their legend are drawn in."""
