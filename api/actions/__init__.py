"""One job a file, named by a verb. No action calls another, none commits: the door opens and closes the transaction."""
