"""What a plan weighs and costs, kit against kit."""
