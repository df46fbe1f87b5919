"""An invented fleet with known truth, written as the files a user would bring."""
