"""What a shop may tune: its stock, allowances, usual ranges, tolerance standard and cautions."""
