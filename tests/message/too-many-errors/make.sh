# A list of fields in another way of writing.
{
    echo 'form jar { given mass : mass }'
    echo 'jar seed-jar {'
    i=1
    while [ $i -le 120 ]; do
        echo "  mass-$i : 620 g"
        i=$((i + 1))
    done
    echo '}'
} >wrong.trn
