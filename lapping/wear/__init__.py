"""How metal comes off a face on a lap."""
