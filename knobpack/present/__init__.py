"""What people see: a layout and answers as text, and the command."""
