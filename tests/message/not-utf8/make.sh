# Latin-1 bytes in a file would be lost in many an editor.
printf 'form jar {\n  given wall : length = 2 \265m\n}\n' >wrong.trn
printf 'form jar { given wall : length = 2 mm }\n-- K\344lte, M\374he\n' >wrong-comment.trn
printf 'form jar { given wall : length = 2 mm } -- \342\202' >wrong-cut.trn
