//! A state to the stage of the reduction it is in, its last-group case and its parities.
