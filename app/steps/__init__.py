"""The steps of the job, one room each."""
