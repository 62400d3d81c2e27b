"""What all parts need: where and how something was measured, and the page it is written on."""
