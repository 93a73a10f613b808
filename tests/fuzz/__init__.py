"""Random input at what reads text, files, pictures and folders from outside."""
