"""Heights at the places read, where the readings by themselves settle them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lapping.heights import Heights
from lapping.methods.network import Network
from lapping.methods.taken import Taken
from lapping.surface.posterior import Surface

Array = NDArray[np.float64]


def heights_known(
    taken: Taken, surface: Surface, network: Network | None, unseen: tuple[str, ...]
) -> tuple[Heights | None, Array | None]:
    """Give heights at the places read and, if any, the root of their covariance.

    Lines that share too few stations to be tied are tied by the surface; with unseen
    shapes nothing ties them. Leaves that stop nowhere bound no height from below.
    """
    if network is not None and len(network.heights) == 0:
        return None, None
    if taken.heights is not None or network is None:
        return taken.heights, None
    if network.unseen.shape[1] == 0:
        return network.heights, network.root
    if unseen:
        return None, None
    p = surface.places
    return Heights(
        along_mm=surface.along_mm[:p],
        across_mm=surface.across_mm[:p],
        height_um=surface.mean_um[:p],
        u_um=surface.sd_um[:p],
    ), None
