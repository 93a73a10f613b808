"""The least distance of two parallel planes round heights, and its proof."""
