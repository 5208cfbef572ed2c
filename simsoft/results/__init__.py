"""What a run returns: records, outcomes of single parts, arrays, and the file that keeps them."""
