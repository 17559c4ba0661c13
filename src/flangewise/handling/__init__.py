"""How the part is held, moved, put down and packed: what hand or gripper does about a set-up that is found."""
