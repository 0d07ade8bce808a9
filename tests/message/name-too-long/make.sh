# A name of 300 letters.
long=$(printf '%0300d' 0 | tr 0 j)
echo "form $long { given mass : mass }" >wrong.trn
