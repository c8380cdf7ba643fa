"""The teacher's last word: a file of corrections beside a score, read, held against what was found, and put in force."""
