# A control character in a file would be lost in many an editor.
printf 'form jar {\n  given mass : mass -- net\342\200\256ssorg\n}\n' >wrong.trn
printf 'requirement JAR-1 "Light \342\201\246enough\342\201\251" { method test  from none "pilot" }\n' >wrong-text.trn
