"""What is read and computed and never written: may I use it, when is it due, what would this submission be judged."""
