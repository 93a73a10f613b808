"""What is asked, doubted and drawn while readings are typed."""
