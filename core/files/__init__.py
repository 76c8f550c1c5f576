"""Files: project, candidates, outlines out and their audit, report and picture."""
