"""The endpoints, one file for each stage of the job."""
