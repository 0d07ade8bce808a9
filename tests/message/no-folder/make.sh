#!/bin/sh
# What is right writes a table, so it is run in a copy of this folder.
mkdir tables
