"""Do the ink and the gauge speak of the same face?"""
