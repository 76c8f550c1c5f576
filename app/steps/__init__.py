"""The steps of the job, one file a step; each is a form beside the drawing."""
