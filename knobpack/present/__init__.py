"""What people see: layouts, setups and answers as text; the demo."""
