# A link out of the folder.
mkdir ../elsewhere 2>/dev/null || true
echo 'form jar { given mass : mass }' >../elsewhere/jar.trn
mkdir parts
ln -s ../../elsewhere/jar.trn parts/jar.trn
