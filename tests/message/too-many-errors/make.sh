# A long list of fields, none with a space before its unit.
{
    echo 'form jar { given mass : mass }'
    echo 'jar seed-jar {'
    i=1
    while [ $i -le 120 ]; do
        echo "  mass-$i = 620g"
        i=$((i + 1))
    done
    echo '}'
} >wrong.trn
