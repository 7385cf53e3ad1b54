"""What each screen shows and does. No Kivy, no disk."""
