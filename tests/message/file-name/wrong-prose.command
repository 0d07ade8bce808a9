verify README.md
