"""What is to be shot and what was seen: studies, plans, run sheets and readings."""
