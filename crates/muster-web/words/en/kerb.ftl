# Round, fall, return, feedback.
