"""A sheet of orders in, the same sheet checked out: workbooks (.xlsx) and CSV files, for `benchgate sheet`."""
