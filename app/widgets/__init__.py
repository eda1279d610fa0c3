"""Small pieces of screen shared by the views."""
