#!/usr/bin/perl
# usage: write_perl.pl TOLD.json OUT.xlsx
# The workbook as Excel::Writer::XLSX (Debian: libexcel-writer-xlsx-perl) writes it.
use strict;
use warnings;
use Excel::Writer::XLSX;
use Excel::Writer::XLSX::Utility;
use JSON::PP;

my ($from, $to) = @ARGV;
open my $file, '<', $from or die "$from: $!\n";
local $/;
my $told = decode_json(<$file>);
my $book = Excel::Writer::XLSX->new($to) or die "$to: $!\n";
my %formats;

sub look {
    my ($cell) = @_;
    my $code = $cell->{format} // '';
    my $struck = $cell->{struck} && $cell->{put} ne 'rich' ? 1 : 0;
    return undef if $code eq '' && !$struck;
    my %look;
    $look{num_format} = $code if $code ne '';
    $look{font_strikeout} = 1 if $struck;
    return $formats{"$code $struck"} //= $book->add_format(%look);
}

sub put {
    my ($sheet, $row, $column, $cell) = @_;
    my $look = look($cell);
    my $put  = $cell->{put};
    if ($put eq 'text') { $sheet->write_string($row, $column, $cell->{value}, $look) }
    elsif ($put eq 'number') { $sheet->write_number($row, $column, $cell->{value}, $look) }
    elsif ($put eq 'date') { $sheet->write_date_time($row, $column, $cell->{value}, $look) }
    elsif ($put eq 'yes_no') { $sheet->write_boolean($row, $column, $cell->{value} ? 1 : 0, $look) }
    elsif ($put eq 'formula') {
        $sheet->write_formula($row, $column, "=$cell->{value}", $look, $cell->{result});
    }
    elsif ($put eq 'rich') {
        my $struck = $formats{run} //= $book->add_format(font_strikeout => 1);
        my @runs = map { $_->[1] ? ($struck, $_->[0]) : $_->[0] } @{ $cell->{runs} };
        $sheet->write_rich_string($row, $column, @runs);
    }
    $sheet->write_comment($row, $column, $cell->{note}) if $cell->{note};
}

for my $table (@{ $told->{tables} }) {
    my $sheet = $book->add_worksheet($table->{name});
    my $cells = $table->{cells};
    my %merged;
    for my $block (@{ $table->{merges} // [] }) {
        my ($first, $last) = split /:/, $block;
        $sheet->merge_range($block, '', $formats{plain} //= $book->add_format());
    }
    for my $place (sort keys %$cells) {
        my $cell = $cells->{$place};
        next if grep { $_ eq 'perl' } @{ $cell->{not} // [] };
        my ($row, $column) = xl_cell_to_rowcol($place);
        put($sheet, $row, $column, $cell);
    }
    $sheet->set_row($_ - 1, undef, undef, 1) for @{ $table->{hidden_rows} // [] };
    $sheet->set_column($_ - 1, $_ - 1, undef, undef, 1) for @{ $table->{hidden_columns} // [] };
    $sheet->hide() if $table->{hidden};
}
$book->close() or die "$to: $!\n";
