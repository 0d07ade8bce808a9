# A form of 2,001 members.
{
    echo 'form tray {'
    awk 'BEGIN { for (i = 1; i <= 2001; i++) printf "  maybe jar-%d : mass\n", i }'
    echo '}'
} >wrong.trn
