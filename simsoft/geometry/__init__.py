"""Outlines and sections: from stated dimensions to stations along a centreline."""
