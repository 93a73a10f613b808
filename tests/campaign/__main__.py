"""Run the campaign: see `study`."""

from tests.campaign.study import main

main()
