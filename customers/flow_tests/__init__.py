"""What the pump delivers, measured."""
