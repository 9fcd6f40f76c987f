"""What people see: a layout as text, and the command."""
