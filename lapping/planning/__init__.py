"""A job before it begins: papers, hours and other ways."""
